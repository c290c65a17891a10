/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a stock list, and writing one. */
#include "format/stock.h"
#include "format/reader.h"

#include <stdlib.h>
#include <string.h>

#define AT(member) offsetof(struct dw_stock_row, member)

static bool read_kind(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    struct dw_stock_row *stock = row;
    const char *text = NULL;
    size_t n = 0;
    char folded[DW_KEY_TEXT];
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    dw_key__fold(folded, text, n);
    stock->bar = strcmp(folded, "bar") == 0;
    if (stock->bar == 1 || strcmp(folded, "offcut") == 0)
        return true;
    return dw_read__refuse(reader, field, value, 0, "write `bar` or `offcut`");
}

/* A table of ours says where each piece is in its life; that is not taken over. */
static bool read_state(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    (void)reader;
    (void)field;
    (void)value;
    (void)row;
    return true;
}

static const struct dw_field stock_fields[] = {
    {"number|id|offcut|no|tag", dw_read__text, AT(number), DW_MAY},
    {"material|tube|stock", dw_read__material, AT(material), DW_MAY},
    {"kind|type", read_kind, 0, DW_MAY},
    {"length|size", dw_read__length, AT(length), DW_MAY},
    {"measured|measured length", dw_read__length, AT(measured), DW_MAY},
    {"ends", dw_read__ends, AT(ends), DW_MAY},
    {"book value|value|worth|price", dw_read__money, AT(value), DW_MAY},
    {"count|qty|quantity|pcs|pieces", dw_read__count, AT(count), DW_MAY},
    {"place|location|rack", dw_read__text, AT(place), DW_MAY},
    {"owner", dw_read__text, AT(owner), DW_MAY},
    {"mark|heat|lot", dw_read__text, AT(mark), DW_MAY},
    {"date", dw_read__date, AT(date), DW_MAY},
    {"job", dw_read__text, AT(job), DW_MAY},
    {"remark|note", dw_read__remark, AT(remark), DW_MAY},
    {"state", read_state, 0, DW_MAY},
};

struct listing {
    bool must;
    struct dw_stock_row *rows;
    size_t n;
    size_t capacity;
};

/* What a row that comes new to the shelf has to say. */
static bool is_whole(struct dw_reader *reader, const struct listing *list,
                     const struct dw_stock_row *row)
{
    if (!list->must)
        return true;
    if (row->length == 0)
        dw_reader__say(reader, DW_WRONG, row->at, "a piece: `length` is missing");
    if (row->material == DW_NONE)
        dw_reader__say(reader, DW_WRONG, row->at, "a piece: `material` is missing");
    if (row->number && row->count > 1)
        dw_reader__say(reader, DW_WRONG, row->at,
                       "a piece: one number can't stand for %lld pieces; leave the number out",
                       (long long)row->count);
    return row->length != 0 && row->material != DW_NONE && (!row->number || row->count == 1);
}

/* Takes off the apostrophe that dw_stock__write sets before what looks like a formula. */
static const char *plain(const char *text)
{
    return text && text[0] == '\'' && text[1] && strchr("=+-@", text[1]) ? text + 1 : text;
}

static void plain_texts(struct dw_stock_row *row)
{
    row->number = plain(row->number);
    row->place = plain(row->place);
    row->owner = plain(row->owner);
    row->mark = plain(row->mark);
    row->job = plain(row->job);
    row->remark = plain(row->remark);
}

static void read_row(struct dw_reader *reader, const struct dw_node *node, void *user)
{
    struct listing *list = user;
    struct dw_stock_row row = {.material = reader->job->n_materials == 1 ? 0 : DW_NONE,
                               .bar = -1,
                               .value = -1,
                               .count = 1,
                               .ends = {DW_END_SAWN, DW_END_SAWN},
                               .at = node->at};
    bool good =
        dw_reader__map(reader, node, "a piece", stock_fields, DW_COUNT(stock_fields), &row, NULL);
    if (!good || !is_whole(reader, list, &row))
        return;
    if (list->n == DW_MAX_ROWS) {
        dw_reader__say(reader, DW_WRONG, row.at, "more than %d rows", DW_MAX_ROWS);
        return;
    }
    plain_texts(&row);
    if (dw_array__grow(&list->rows, &list->capacity, list->n + 1, sizeof row))
        list->rows[list->n++] = row;
    else
        reader->no_memory = true;
}

/* Hands the rows over in the job's arena. */
static dw_err finish(struct dw_reader *reader, const struct listing *list, const char *path,
                     struct dw_stock_rows *out, struct dw_error *error)
{
    if (reader->no_memory || dw_report__sort(reader->report, reader->job->file))
        return dw_error__nomem(error);
    if (reader->report->n_wrong > 0)
        return dw_error__at(error, DW_ERR_INPUT, path, 0, 0, "%zu mistake%s in the table",
                            reader->report->n_wrong, reader->report->n_wrong == 1 ? "" : "s");
    out->rows = dw_job_alloc(reader->job, list->n, sizeof *out->rows);
    if (!out->rows)
        return dw_error__nomem(error);
    if (list->n)
        memcpy(out->rows, list->rows, list->n * sizeof *out->rows);
    out->n = list->n;
    return DW_OK;
}

dw_err dw_stock__read(const struct dw_stock_source *source, struct dw_job *job, bool must,
                      struct dw_stock_rows *out, struct dw_report *report, struct dw_error *error)
{
    const char *path = source->path;
    *out = (struct dw_stock_rows){0};
    struct dw_reader reader = {.job = job, .report = report, .folder = "", .of_shelf = true};
    reader.tree = dw_arena__new();
    if (!reader.tree)
        return dw_error__nomem(error);
    struct listing list = {.must = must};
    job->file = dw_job_text(job, path);
    const struct dw_node name = {.kind = DW_NODE_SCALAR, .text = path, .n = strlen(path)};
    if (source->text)
        dw_reader__table(&reader, source->text, source->n, path, "each piece", stock_fields,
                         DW_COUNT(stock_fields), read_row, &list);
    else
        dw_reader__rows(&reader, &name, "each piece", stock_fields, DW_COUNT(stock_fields),
                        read_row, NULL, &list);
    dw_err err = finish(&reader, &list, path, out, error);
    free(list.rows);
    dw_arena__free(reader.tree);
    return err;
}

/* --- writing ---------------------------------------------------------------------------------- */

/* A cell, quoted where it must be (RFC 4180). What begins like a formula is made text. */
static void put_text(struct dw_buf *buf, const char *text)
{
    if (!text)
        return;
    bool formula = text[0] && strchr("=+-@", text[0]);
    bool quote = formula || text[strcspn(text, ",;\"\r\n\t")] != '\0';
    dw_buf__put(buf, quote ? "\"" : "");
    dw_buf__put(buf, formula ? "'" : "");
    for (const char *at = text; *at; at++)
        dw_buf__add(buf, *at == '"' ? "\"\"" : at, *at == '"' ? 2 : 1);
    dw_buf__put(buf, quote ? "\"" : "");
}

static void put_length(struct dw_buf *buf, dw_length length)
{
    static const struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6, .bare = true};
    char text[DW_LENGTH_TEXT];
    if (length == 0)
        return;
    dw_length_print(text, length, &style);
    dw_buf__put(buf, text);
}

static void put_row(struct dw_buf *buf, const struct dw_job *job, const struct dw_stock_row *row,
                    const char *state)
{
    char money[DW_MONEY_TEXT];
    dw_money_print(money, row->value, job->currency, true);
    put_text(buf, row->number);
    dw_buf__char(buf, ',');
    put_text(buf, job->materials[row->material].id);
    dw_buf__format(buf, ",%s,", row->bar ? "bar" : "offcut");
    put_length(buf, row->length);
    dw_buf__char(buf, ',');
    put_length(buf, row->measured);
    dw_buf__format(buf, ",%s/%s,%s", dw_end_word(row->ends[0]), dw_end_word(row->ends[1]), money);
    const char *const texts[] = {row->place, row->owner, row->mark,
                                 row->date,  row->job,   row->remark};
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        dw_buf__char(buf, ',');
        put_text(buf, texts[i]);
    }
    if (state)
        dw_buf__format(buf, ",%s", state);
    dw_buf__put(buf, "\r\n");
}

dw_err dw_stock__write(const struct dw_job *job, const struct dw_stock_rows *rows,
                       const char *const *states, char **text, struct dw_error *error)
{
    struct dw_buf buf = {0};
    dw_buf__format(&buf,
                   "number,material,kind,length (mm),measured (mm),ends,value,place,owner,mark,"
                   "date,job,remark%s\r\n",
                   states ? ",state" : "");
    for (size_t i = 0; i < rows->n; i++)
        put_row(&buf, job, &rows->rows[i], states ? states[i] : NULL);
    *text = dw_buf__take(&buf);
    return *text ? DW_OK : dw_error__nomem(error);
}
