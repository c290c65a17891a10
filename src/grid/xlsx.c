/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Workbooks after ECMA-376 (Office Open XML), part 1, section 18: sheets, shared strings, number
 * formats, merged and hidden cells, and the values that formulas had when the file was saved. */
#include "grid/part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHEETS_MOST  200
#define STYLES_MOST  20000
#define FORMATS_MOST 5000
#define STRINGS_MOST 400000
#define MERGES_MOST  20000
#define RELATION     128

struct sheet_name {
    char name[128];
    char id[32];
    bool hidden;
};

struct format {
    long id;
    struct dw_shown shown;
};

/* Of a cell: how it shows a number, and whether it is struck through. */
struct style {
    struct dw_shown shown;
    bool struck;
};

struct book {
    struct dw_zip *zip;
    struct dw_grid_maker *maker;
    char folder[RELATION]; /* of the workbook's part, with its slash */
    char main[RELATION];
    bool from_1904;
    struct sheet_name *sheets;
    size_t n_sheets;
    size_t sheet_capacity;
    /* relations: what is asked for, and its answer */
    const char *wanted;
    bool by_type;
    char target[RELATION];
    const char **strings; /* in the arena */
    size_t n_strings;
    size_t string_capacity;
    struct dw_buf text; /* being gathered */
    bool gathering;
    int silent; /* within an element whose text is not shown */
    struct format *formats;
    size_t n_formats;
    size_t format_capacity;
    bool *strikes; /* length n_fonts: which fonts strike through */
    size_t n_fonts;
    size_t font_capacity;
    bool in_fonts;
    struct style *styles;
    size_t n_styles;
    size_t style_capacity;
    bool in_styles;
    /* the sheet */
    int row;
    int column;
    bool row_hidden;
    struct dw_cell cell;
    char type[16];
    long style;
    struct dw_merge *merges;
    size_t n_merges;
    size_t merge_capacity;
};

static void no_memory(struct dw_xml *xml)
{
    dw_xml__stop(xml, DW_ERR_NOMEM, " ");
}

static void gather(struct dw_xml *xml, const char *text, size_t n)
{
    struct book *book = xml->user;
    if (book->gathering && book->silent == 0)
        dw_buf__add(&book->text, text, n);
    if (book->text.failed)
        no_memory(xml);
    if (book->text.n > DW_GRID_MEMORY)
        dw_xml__stop(xml, DW_ERR_LIMIT, "a cell of the workbook holds too much text");
}

static void restart(struct book *book)
{
    book->gathering = true;
    book->text.n = 0;
}

static const char *gathered(const struct book *book)
{
    return book->text.n ? book->text.text : "";
}

static void end_nothing(struct dw_xml *xml, const char *name)
{
    (void)xml;
    (void)name;
}

/* --- relations ------------------------------------------------------------------------------- */

static bool ends_with(const char *text, const char *end)
{
    size_t n = strlen(text), m = strlen(end);
    return n >= m && strcmp(text + n - m, end) == 0;
}

static void begin_relation(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    const char *type = dw_xml__get(attributes, "Type");
    const char *id = dw_xml__get(attributes, "Id");
    const char *target = dw_xml__get(attributes, "Target");
    const char *mode = dw_xml__get(attributes, "TargetMode");
    if (strcmp(name, "Relationship") != 0 || !type || !id || !target || book->target[0] ||
        (mode && strcmp(mode, "External") == 0))
        return;
    if (book->by_type ? !ends_with(type, book->wanted) : strcmp(id, book->wanted) != 0)
        return;
    bool absolute = target[0] == '/';
    size_t n = (absolute ? 0 : strlen(book->folder)) + strlen(target);
    if (n >= RELATION || strstr(target, ".."))
        return;
    snprintf(book->target, RELATION, "%s%s", absolute ? "" : book->folder, target + absolute);
}

/* The part that a relation of `part` leads to, in book->target; empty if there is none. */
static dw_err find_part(struct book *book, const char *relations, const char *wanted, bool by_type)
{
    struct dw_xml xml = {.user = book, .begin = begin_relation, .end = end_nothing};
    book->wanted = wanted;
    book->by_type = by_type;
    book->target[0] = '\0';
    dw_err err = dw_xml__walk(book->zip, relations, &xml, book->maker->error);
    return err;
}

/* --- the workbook ---------------------------------------------------------------------------- */

static void add_sheet(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *name = dw_xml__get(attributes, "name");
    const char *state = dw_xml__get(attributes, "state");
    const char *id = NULL;
    for (size_t i = 0; attributes[i]; i += 2)
        if (ends_with(attributes[i], ":id"))
            id = attributes[i + 1];
    if (!name || !id || strlen(id) >= sizeof book->sheets->id)
        return;
    if (book->n_sheets == SHEETS_MOST) {
        dw_xml__stop(xml, DW_ERR_LIMIT, "the workbook has more than %d sheets", SHEETS_MOST);
        return;
    }
    if (!dw_array__grow(&book->sheets, &book->sheet_capacity, book->n_sheets + 1,
                        sizeof *book->sheets)) {
        no_memory(xml);
        return;
    }
    struct sheet_name *sheet = &book->sheets[book->n_sheets++];
    *sheet = (struct sheet_name){.hidden = state && strcmp(state, "visible") != 0};
    size_t n = strlen(name) < sizeof sheet->name ? strlen(name) : sizeof sheet->name - 1;
    n = dw_utf8__check(name, n);
    memcpy(sheet->name, name, n);
    memcpy(sheet->id, id, strlen(id));
}

static void begin_workbook(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    const char *from_1904 = dw_xml__get(attributes, "date1904");
    if (strcmp(name, "workbookPr") == 0 && from_1904)
        book->from_1904 = strcmp(from_1904, "1") == 0 || strcmp(from_1904, "true") == 0;
    if (strcmp(name, "sheet") == 0)
        add_sheet(xml, attributes);
}

/* --- shared strings -------------------------------------------------------------------------- */

static void begin_string(struct dw_xml *xml, const char *name, const char **attributes)
{
    (void)attributes;
    struct book *book = xml->user;
    if (strcmp(name, "si") == 0) {
        restart(book);
        book->gathering = false;
    }
    if (strcmp(name, "t") == 0)
        book->gathering = true;
    if (strcmp(name, "rPh") == 0) /* how it is pronounced */
        book->silent++;
}

static void end_string(struct dw_xml *xml, const char *name)
{
    struct book *book = xml->user;
    if (strcmp(name, "t") == 0)
        book->gathering = false;
    if (strcmp(name, "rPh") == 0)
        book->silent--;
    if (strcmp(name, "si") != 0)
        return;
    const char *copy = dw_arena__text_n(book->maker->arena, gathered(book), book->text.n);
    book->maker->n_bytes += book->text.n;
    if (book->n_strings == STRINGS_MOST || book->maker->n_bytes > DW_GRID_MEMORY)
        dw_xml__stop(xml, DW_ERR_LIMIT, "the workbook holds more than %d texts or %zu MiB of them",
                     STRINGS_MOST, DW_GRID_MEMORY >> 20);
    else if (!copy || !dw_array__grow(&book->strings, &book->string_capacity, book->n_strings + 1,
                                      sizeof(char *)))
        no_memory(xml);
    else
        book->strings[book->n_strings++] = copy;
}

/* --- styles ---------------------------------------------------------------------------------- */

/* The formats that are known by number alone (ECMA-376, 18.8.30). */
static const char *built_in(long id)
{
    static const char *const codes[] = {
        [0] = "General", [1] = "0",         [2] = "0.00",      [3] = "#,##0",   [4] = "#,##0.00",
        [9] = "0%",      [10] = "0.00%",    [11] = "0.00E+00", [12] = "# ?/?",  [13] = "# ?\?/?\?",
        [14] = "d/m/yy", [15] = "d-mmm-yy", [16] = "d-mmm",    [17] = "mmm-yy", [18] = "h:mm",
        [19] = "h:mm",   [20] = "h:mm",     [21] = "h:mm:ss",  [22] = "d/m/yy", [37] = "#,##0",
        [38] = "#,##0",  [39] = "#,##0.00", [40] = "#,##0.00", [45] = "mm:ss",  [46] = "h:mm:ss",
        [47] = "mm:ss",  [48] = "0.0E+0",   [49] = "@",
    };
    bool asian_date = (id >= 27 && id <= 36) || (id >= 50 && id <= 58);
    if (asian_date)
        return "d/m/yy";
    return id >= 0 && (size_t)id < DW_COUNT(codes) && codes[id] ? codes[id] : "General";
}

static void add_format(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *code = dw_xml__get(attributes, "formatCode");
    if (!code || book->n_formats == FORMATS_MOST)
        return;
    if (!dw_array__grow(&book->formats, &book->format_capacity, book->n_formats + 1,
                        sizeof *book->formats)) {
        no_memory(xml);
        return;
    }
    struct format *format = &book->formats[book->n_formats++];
    format->id = dw_xml__number(attributes, "numFmtId", -1);
    dw_shown__read(code, &format->shown);
}

static void add_style(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    long id = dw_xml__number(attributes, "numFmtId", 0);
    if (book->n_styles == STYLES_MOST)
        return;
    if (!dw_array__grow(&book->styles, &book->style_capacity, book->n_styles + 1,
                        sizeof *book->styles)) {
        no_memory(xml);
        return;
    }
    struct style *style = &book->styles[book->n_styles++];
    struct dw_shown *shown = &style->shown;
    long font = dw_xml__number(attributes, "fontId", -1);
    style->struck = font >= 0 && (size_t)font < book->n_fonts && book->strikes[font];
    dw_shown__read(built_in(id), shown);
    for (size_t i = 0; i < book->n_formats; i++)
        if (book->formats[i].id == id)
            *shown = book->formats[i].shown;
}

/* ECMA-376, 18.8.22 and 18.8.37: <font><strike/></font>, where val="0" takes it back. */
static void add_font(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    if (strcmp(name, "font") == 0 && book->n_fonts < STYLES_MOST) {
        if (!dw_array__grow(&book->strikes, &book->font_capacity, book->n_fonts + 1,
                            sizeof *book->strikes)) {
            no_memory(xml);
            return;
        }
        book->strikes[book->n_fonts++] = false;
    }
    const char *value = dw_xml__get(attributes, "val");
    if (strcmp(name, "strike") == 0 && book->n_fonts > 0)
        book->strikes[book->n_fonts - 1] =
            !value || (strcmp(value, "0") != 0 && strcmp(value, "false") != 0);
}

static void begin_style(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    if (strcmp(name, "fonts") == 0)
        book->in_fonts = true;
    if (book->in_fonts)
        add_font(xml, name, attributes);
    if (strcmp(name, "numFmt") == 0)
        add_format(xml, attributes);
    if (strcmp(name, "cellXfs") == 0)
        book->in_styles = true;
    if (strcmp(name, "xf") == 0 && book->in_styles)
        add_style(xml, attributes);
}

static void end_style(struct dw_xml *xml, const char *name)
{
    if (strcmp(name, "cellXfs") == 0)
        ((struct book *)xml->user)->in_styles = false;
    if (strcmp(name, "fonts") == 0)
        ((struct book *)xml->user)->in_fonts = false;
}

/* --- a sheet --------------------------------------------------------------------------------- */

/* "D12": column and row; false if it is none. */
static bool read_reference(const char *text, int *column, int *row)
{
    size_t n = 0;
    while ((text[n] >= 'A' && text[n] <= 'Z') || (text[n] >= 'a' && text[n] <= 'z'))
        n++;
    *column = dw_cell__column(text, n);
    long number = strtol(text + n, NULL, 10);
    *row = number > 0 && number <= 1048576 ? (int)number : 0;
    return *column > 0 && *row > 0;
}

static void begin_row(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    long number = dw_xml__number(attributes, "r", book->row + 1);
    const char *hidden = dw_xml__get(attributes, "hidden");
    if (number <= book->row || number > 1048576) {
        dw_xml__stop(xml, DW_ERR_SYNTAX, "the workbook is broken: its rows are out of order");
        return;
    }
    book->row = (int)number;
    book->column = 0;
    book->row_hidden = hidden && (strcmp(hidden, "1") == 0 || strcmp(hidden, "true") == 0);
}

static void begin_cell(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *reference = dw_xml__get(attributes, "r");
    const char *type = dw_xml__get(attributes, "t");
    int column = book->column + 1, row = 0;
    if (reference && (!read_reference(reference, &column, &row) || row != book->row)) {
        dw_xml__stop(xml, DW_ERR_SYNTAX, "the workbook is broken: a cell is out of its row");
        return;
    }
    if (column <= book->column || column > 16384) {
        dw_xml__stop(xml, DW_ERR_SYNTAX, "the workbook is broken: its cells are out of order");
        return;
    }
    book->column = column;
    book->style = dw_xml__number(attributes, "s", 0);
    book->cell = (struct dw_cell){.line = book->row, .at = column, .column = column};
    snprintf(book->type, sizeof book->type, "%s", type ? type : "n");
    book->text.n = 0;
    book->gathering = false;
}

static void add_merge(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *range = dw_xml__get(attributes, "ref");
    const char *colon = range ? strchr(range, ':') : NULL;
    struct dw_merge merge;
    if (!colon || book->n_merges == MERGES_MOST ||
        !read_reference(range, &merge.left, &merge.top) ||
        !read_reference(colon + 1, &merge.right, &merge.bottom))
        return;
    if (!dw_array__grow(&book->merges, &book->merge_capacity, book->n_merges + 1, sizeof merge)) {
        no_memory(xml);
        return;
    }
    book->merges[book->n_merges++] = merge;
}

static void hide_columns(struct book *book, const char **attributes)
{
    const char *hidden = dw_xml__get(attributes, "hidden");
    long from = dw_xml__number(attributes, "min", 1), to = dw_xml__number(attributes, "max", 0);
    if (!hidden || (strcmp(hidden, "1") != 0 && strcmp(hidden, "true") != 0))
        return;
    for (long c = from; c >= 1 && c <= to && c <= DW_GRID_COLUMNS; c++)
        dw_maker__hide_column(book->maker, (int)c);
}

static void begin_sheet(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    if (strcmp(name, "row") == 0)
        begin_row(xml, attributes);
    else if (strcmp(name, "c") == 0)
        begin_cell(xml, attributes);
    else if (strcmp(name, "v") == 0 || strcmp(name, "t") == 0)
        book->gathering = true;
    else if (strcmp(name, "f") == 0) {
        book->cell.formula = true;
        book->cell.linked = false;
        restart(book);
    } else if (strcmp(name, "rPh") == 0)
        book->silent++;
    else if (strcmp(name, "mergeCell") == 0)
        add_merge(xml, attributes);
    else if (strcmp(name, "col") == 0)
        hide_columns(book, attributes);
}

/* NULL: it has none. */
static const struct style *style_of(const struct book *book)
{
    return book->style >= 0 && (size_t)book->style < book->n_styles ? &book->styles[book->style]
                                                                    : NULL;
}

static void put_number(struct book *book, struct dw_cell *cell, struct dw_buf *shown)
{
    static const struct dw_shown general = {.kind = DW_SHOWN_GENERAL};
    char value[DW_VALUE_TEXT];
    const struct style *of = style_of(book);
    const struct dw_shown *style = of ? &of->shown : &general;
    if (!dw_value__read(gathered(book), value, &cell->computed)) {
        cell->kind = DW_CELL_FAULT;
        dw_buf__put(shown, gathered(book));
    } else if (style->kind == DW_SHOWN_DATE && dw_value__day(value, book->from_1904, value)) {
        cell->kind = DW_CELL_DATE;
        dw_buf__put(shown, value);
    } else {
        cell->kind = DW_CELL_NUMBER;
        dw_shown__print(shown, value, style, &cell->rounded);
        if (style->kind == DW_SHOWN_PERCENT) {
            cell->kind = DW_CELL_TEXT;
            dw_buf__put(shown, " (a percentage)");
        }
    }
    cell->text = shown->n ? shown->text : "";
    cell->n = shown->n;
    cell->value = cell->kind == DW_CELL_NUMBER || cell->kind == DW_CELL_DATE ? value : NULL;
    if (!shown->failed)
        dw_maker__cell(book->maker, cell);
}

static void put_text(struct book *book, struct dw_cell *cell)
{
    const char *text = gathered(book);
    char *end = NULL;
    unsigned long index = strtoul(text, &end, 10);
    cell->kind = DW_CELL_TEXT;
    if (strcmp(book->type, "s") == 0) {
        bool good = *text && *end == '\0' && index < book->n_strings;
        cell->kind = good ? DW_CELL_TEXT : DW_CELL_FAULT;
        text = good ? book->strings[index] : text;
    } else if (strcmp(book->type, "b") == 0) {
        cell->kind = DW_CELL_YES;
        text = strcmp(text, "1") == 0 ? "yes" : "no";
    } else if (strcmp(book->type, "e") == 0)
        cell->kind = DW_CELL_FAULT;
    else if (strcmp(book->type, "d") == 0) {
        cell->kind = DW_CELL_DATE;
        cell->value = text;
    }
    cell->text = text;
    cell->n = strlen(text);
    dw_maker__cell(book->maker, cell);
}

static void end_cell(struct dw_xml *xml)
{
    struct book *book = xml->user;
    struct dw_buf shown = {0};
    if (book->text.n == 0)
        return;
    const struct style *style = style_of(book);
    book->cell.struck = style && style->struck;
    if (strcmp(book->type, "n") == 0)
        put_number(book, &book->cell, &shown);
    else
        put_text(book, &book->cell);
    if (shown.failed)
        no_memory(xml);
    dw_buf__free(&shown);
    xml->err = xml->err ? xml->err : book->maker->err;
}

static void end_sheet(struct dw_xml *xml, const char *name)
{
    struct book *book = xml->user;
    if (strcmp(name, "c") == 0)
        end_cell(xml);
    else if (strcmp(name, "v") == 0 || strcmp(name, "t") == 0)
        book->gathering = false;
    else if (strcmp(name, "f") == 0) {
        book->cell.linked = strchr(gathered(book), '[') != NULL;
        book->text.n = 0;
        book->gathering = false;
    } else if (strcmp(name, "rPh") == 0)
        book->silent--;
    else if (strcmp(name, "row") == 0) {
        dw_maker__row(book->maker, book->row, book->row_hidden);
        xml->err = xml->err ? xml->err : book->maker->err;
    }
}

static dw_err read_sheet(struct book *book, const struct sheet_name *sheet, const char *relations)
{
    struct dw_xml xml = {.user = book, .begin = begin_sheet, .end = end_sheet, .text = gather};
    dw_err err = find_part(book, relations, sheet->id, false);
    if (err || !book->target[0] || !strstr(book->target, "heets/"))
        return err; /* a chart, or nothing */
    book->row = book->column = 0;
    book->n_merges = 0;
    err = dw_xml__walk(book->zip, book->target, &xml, book->maker->error);
    if (err)
        return err;
    dw_maker__sheet(book->maker, sheet->name, sheet->hidden);
    if (!book->maker->err)
        dw_grid__merge(book->maker, &book->maker->sheets[book->maker->n_sheets - 1], book->merges,
                       book->n_merges);
    return book->maker->err;
}

/* --- the file -------------------------------------------------------------------------------- */

/* Reads a part that is named by its kind of relation, if there is one. */
static dw_err read_side(struct book *book, const char *relations, const char *type,
                        struct dw_xml *xml)
{
    dw_err err = find_part(book, relations, type, true);
    if (err || !book->target[0])
        return err;
    return dw_xml__walk(book->zip, book->target, xml, book->maker->error);
}

static dw_err read_book(struct book *book)
{
    struct dw_xml workbook = {.user = book, .begin = begin_workbook, .end = end_nothing};
    struct dw_xml strings = {
        .user = book, .begin = begin_string, .end = end_string, .text = gather};
    struct dw_xml styles = {.user = book, .begin = begin_style, .end = end_style};
    char relations[3 * RELATION];
    dw_err err = find_part(book, "_rels/.rels", "/officeDocument", true);
    if (err)
        return err;
    if (!book->target[0])
        return dw_maker__fail(book->maker, DW_ERR_INPUT,
                              "this zip file is no workbook (.xlsx or .ods)");
    snprintf(book->main, sizeof book->main, "%s", book->target);
    const char *slash = strrchr(book->main, '/');
    size_t n = slash ? (size_t)(slash - book->main) + 1 : 0;
    memcpy(book->folder, book->main, n);
    snprintf(relations, sizeof relations, "%s_rels/%s.rels", book->folder, book->main + n);
    err = dw_xml__walk(book->zip, book->main, &workbook, book->maker->error);
    if (!err)
        err = read_side(book, relations, "/sharedStrings", &strings);
    if (!err)
        err = read_side(book, relations, "/styles", &styles);
    for (size_t i = 0; !err && i < book->n_sheets; i++)
        err = read_sheet(book, &book->sheets[i], relations);
    return err;
}

dw_err dw_xlsx__read(struct dw_zip *zip, struct dw_grid_maker *maker)
{
    struct book *book = calloc(1, sizeof *book);
    if (!book)
        return dw_maker__fail(maker, DW_ERR_NOMEM, " ");
    book->zip = zip;
    book->maker = maker;
    dw_err err = read_book(book);
    free(book->sheets);
    free(book->strings);
    free(book->formats);
    free(book->styles);
    free(book->strikes);
    free(book->merges);
    dw_buf__free(&book->text);
    free(book);
    return err;
}
