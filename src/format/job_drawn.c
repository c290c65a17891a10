/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts as they are drawn: dimensions with a fitting at each end, offsets, bends, mitres. */
#include "format/fields.h"
#include "format/trade.h"
#include "model/saw.h"

#include <string.h>

static void *keep(struct dw_reader *reader, size_t count, size_t size)
{
    void *out = dw_arena__alloc(reader->job->arena, count, size);
    reader->no_memory |= out == NULL;
    return out;
}

/* --- ends ------------------------------------------------------------------------------------ */

struct end_row {
    const struct dw_node *fitting;
    dw_length meets;
    int64_t mitre;
    enum dw_mitre_point point;
    bool notch;
    int64_t axis;
};

/* The words of the table, and the first of each alone: `long`. */
static bool find_point(const char *folded, enum dw_mitre_point *out)
{
    if (strcmp(folded, "center line") == 0 || strcmp(folded, "center") == 0)
        folded = folded[6] ? "centre line" : "centre";
    for (size_t i = 0; i < dw_mitre_point__words.n; i++) {
        const char *word = dw_mitre_point__words.words[i];
        size_t first = strcspn(word, " ");
        if (strcmp(folded, word) == 0 ||
            (strlen(folded) == first && strncmp(folded, word, first) == 0)) {
            *out = (enum dw_mitre_point)i;
            return true;
        }
    }
    return false;
}

static bool read_point(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    return find_point(folded, &((struct end_row *)row)->point) ||
           dw_read__refuse(
               reader, field, value, 0,
               "write long point, centre line or short point: where the length runs to");
}

static bool read_meets(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    struct end_row *end = row;
    size_t material = dw_reader__find_material(reader, value->text, value->n);
    if (material == DW_NONE)
        return dw_read__length(reader, field, value, row);
    end->meets = reader->job->materials[material].od;
    return end->meets > 0 ||
           dw_read__refuse(reader, field, value, 0, "material `%.60s` has no outside diameter",
                           value->text);
}

enum { END_FITTING, END_MEETS, END_MITRE, END_POINT, END_NOTCH, END_AXIS };

static const struct dw_field end_fields[] = {
    [END_FITTING] = {"fitting", dw_read__node, offsetof(struct end_row, fitting), DW_MAY},
    [END_MEETS] = {"meets", read_meets, offsetof(struct end_row, meets), DW_MAY},
    [END_MITRE] = {"mitre|miter", dw_read__angle, offsetof(struct end_row, mitre), DW_MAY},
    [END_POINT] = {"to|point|measured to", read_point, 0, DW_MAY},
    [END_NOTCH] = {"notch", dw_read__yes, offsetof(struct end_row, notch), DW_MAY},
    [END_AXIS] = {"centre line at|center line at", dw_read__angle, offsetof(struct end_row, axis),
                  DW_MAY},
};
static const struct dw_choice end_choices[] = {
    {"to", &dw_mitre_point__words, DW_MITRE_LONG, DW_MITRE_SHORT + 1}};
DW_FIELDS_CHOOSE(end, "end", end_fields, end_choices);

/* `mitre 45 short point`: the angle ends where letters begin again. */
static bool read_mitre_text(struct dw_reader *reader, const struct dw_node *value,
                            struct dw_drawn_end *end)
{
    const char *text = value->text + strlen("mitre "); /* `miter` is as long */
    size_t n = value->n - strlen("mitre ");
    size_t digits = 0;
    while (digits < n && ((text[digits] >= '0' && text[digits] <= '9') || text[digits] == '.' ||
                          text[digits] == ',' || text[digits] == ' '))
        digits++;
    struct end_row row = {0};
    struct dw_node angle = dw_node__slice(value, text, digits);
    struct dw_node point = dw_node__slice(value, text + digits, n - digits);
    if (digits == n)
        return dw_read__refuse(reader, &end_fields[END_MITRE], value, 0,
                               "say to which point the length runs: mitre 45 long point");
    bool good = dw_read__angle(reader, &end_fields[END_MITRE], &angle, &row);
    struct dw_node copy = point; /* folding reads n bytes only */
    good = good && read_point(reader, &end_fields[END_POINT], &copy, &row);
    end->mitre_udeg = row.mitre;
    end->point = row.point;
    return good;
}

/* `notch`, or `notch for 1.5 in tube`, `notch for al38`: the tube that it is shaped to. */
static bool read_notch_text(struct dw_reader *reader, const struct dw_field *field,
                            const struct dw_node *value, struct dw_drawn_end *end)
{
    static const char before[] = "notch for ", after[] = " tube";
    end->notch = true;
    if (strcmp(value->text, "notch") == 0)
        return true;
    if (strncmp(value->text, before, strlen(before)) != 0)
        return dw_read__refuse(reader, field, value, 0,
                               "write notch, or what it is for: notch for 38 mm tube");
    const char *text = value->text + strlen(before);
    size_t n = value->n - strlen(before);
    if (n > strlen(after) && strcmp(text + n - strlen(after), after) == 0)
        n -= strlen(after);
    struct dw_node tube = dw_node__slice(value, text, n);
    struct end_row row = {0};
    bool good = read_meets(reader, &end_fields[END_MEETS], &tube, &row);
    end->meets = row.meets;
    return good;
}

static bool read_end(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *node, struct dw_drawn_end *end)
{
    *end = (struct dw_drawn_end){.fitting = DW_NONE};
    if (!node)
        return true;
    if (node->kind != DW_NODE_MAP) {
        if (strcmp(node->text, "free") == 0)
            return true;
        if (strncmp(node->text, "mitre ", 6) == 0 || strncmp(node->text, "miter ", 6) == 0)
            return read_mitre_text(reader, node, end);
        if (strcmp(node->text, "notch") == 0 || strncmp(node->text, "notch ", 6) == 0)
            return read_notch_text(reader, field, node, end);
        end->fitting = dw_trade__fitting(reader, field, node);
        return end->fitting != DW_NONE;
    }
    struct end_row row = {0};
    uint32_t given = 0;
    bool good =
        dw_reader__map(reader, node, "an end", end_fields, DW_COUNT(end_fields), &row, &given);
    if (row.fitting) {
        end->fitting = dw_trade__fitting(reader, &end_fields[END_FITTING], row.fitting);
        good &= end->fitting != DW_NONE;
    }
    if ((given >> END_MITRE & 1) != (given >> END_POINT & 1))
        good = dw_read__refuse(reader, field, node, 0,
                               "a `mitre` goes with `to: long point`, `centre line` or `short "
                               "point`");
    if (row.notch && (row.mitre || row.fitting))
        good = dw_read__refuse(reader, field, node, 0,
                               "a `notch` goes with neither a mitre nor a fitting");
    if ((given >> END_AXIS & 1) && !row.notch)
        good = dw_read__refuse(reader, field, node, 0,
                               "`centre line at` goes with `notch: yes`: the length then runs to "
                               "the centre line of the tube that it meets, at that angle");
    end->meets = row.meets;
    end->mitre_udeg = row.mitre;
    end->point = row.point;
    end->notch = row.notch;
    end->axis_udeg = row.axis;
    return good;
}

static bool read_long_points(struct dw_reader *reader, const struct dw_node *node,
                             struct dw_drawn *drawn)
{
    static const struct dw_field field = {"long points", NULL, 0, DW_MAY};
    const char *text = NULL;
    size_t n = 0;
    if (!node)
        return true;
    if (!dw_read__scalar(reader, &field, node, &text, &n))
        return false;
    if (drawn->ends[0].mitre_udeg == 0 || drawn->ends[1].mitre_udeg == 0)
        return dw_read__refuse(reader, &field, node, 0, "they go with a mitre at both ends");
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, text, n);
    unsigned found = DW_POINTS_UNSAID;
    if (!dw_words__find(&dw_long_points__words, folded, strlen(folded), &found) ||
        found == DW_POINTS_UNSAID)
        return dw_read__refuse(reader, &field, node, 0,
                               "write same side (a trapezoid) or opposite sides (a parallelogram)");
    drawn->long_points = (enum dw_long_points)found;
    return true;
}

static bool read_ends(struct dw_reader *reader, const struct dw_drawn_row *row,
                      struct dw_part *part, struct dw_drawn *drawn)
{
    static const struct dw_field field_1 = {"end 1", NULL, 0, DW_MAY};
    static const struct dw_field field_2 = {"end 2", NULL, 0, DW_MAY};
    if (row->both_ends && (row->end_1 || row->end_2)) {
        dw_reader__say(reader, DW_WRONG, part->at,
                       "a part: give `both ends`, or `end 1` and `end 2`, not all of them");
        return false;
    }
    bool good =
        read_end(reader, &field_1, row->both_ends ? row->both_ends : row->end_1, &drawn->ends[0]);
    if (row->both_ends) {
        drawn->ends[1] = drawn->ends[0];
        return good;
    }
    return read_end(reader, &field_2, row->end_2, &drawn->ends[1]) && good;
}

/* --- bends and offsets ----------------------------------------------------------------------- */

static bool read_radius_at(struct dw_reader *reader, const struct dw_field *field,
                           const struct dw_node *value, void *row)
{
    unsigned found = 0;
    if (!dw_words__find(&dw_reference__words, value->text, value->n, &found))
        return dw_read__refuse(reader, field, value, 0,
                               "write centre, inside or outside: what the radius is of");
    ((struct dw_bend *)row)->radius_at = (enum dw_reference)found;
    return true;
}

static const struct dw_field bend_fields[] = {
    {"radius", dw_read__length, offsetof(struct dw_bend, radius), DW_MAY},
    {"radius of|of", read_radius_at, 0, DW_MAY},
    {"angle", dw_read__angle, offsetof(struct dw_bend, angle_udeg), DW_MAY},
    {"chord", dw_read__length, offsetof(struct dw_bend, chord), DW_MAY},
    {"rise", dw_read__length, offsetof(struct dw_bend, rise), DW_MAY},
    {"long way round", dw_read__yes, offsetof(struct dw_bend, major), DW_MAY},
};
static const struct dw_choice bend_choices[] = {
    {"radius of", &dw_reference__words, DW_REF_CENTRE, DW_REF_INSIDE + 1}};
DW_FIELDS_CHOOSE(bend, "bend", bend_fields, bend_choices);

struct bent_row {
    const struct dw_node *bends;
    const struct dw_node *straights;
    bool to_apex;
    dw_length least;
};

static const char *const straight_texts[] = {"arc", "apex"};
static const struct dw_words straight_words = {straight_texts, DW_COUNT(straight_texts)};

static bool read_to(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    bool apex = strcmp(value->text, straight_texts[1]) == 0;
    ((struct bent_row *)row)->to_apex = apex;
    return apex || strcmp(value->text, straight_texts[0]) == 0 ||
           dw_read__refuse(reader, field, value, 0,
                           "write arc or apex: where a drawn straight ends at a bend");
}

static const struct dw_field bent_fields[] = {
    {"bends|bend", dw_read__node, offsetof(struct bent_row, bends), DW_MUST},
    {"straights", dw_read__node, offsetof(struct bent_row, straights), DW_MAY},
    {"straights to", read_to, 0, DW_MAY},
    {"least straight", dw_read__length0, offsetof(struct bent_row, least), DW_MAY},
};
static const struct dw_choice bent_choices[] = {{"straights to", &straight_words, 0, 2}};
DW_FIELDS_CHOOSE(bent, "bent", bent_fields, bent_choices);

static bool read_bends(struct dw_reader *reader, const struct dw_node *node, struct dw_drawn *drawn)
{
    size_t n = 1;
    struct dw_bend *bends = NULL;
    if (node->kind == DW_NODE_LIST)
        bends = dw_trade__list(reader, node, "bends", sizeof *bends, &n);
    else
        bends = keep(reader, 1, sizeof *bends);
    bool good = bends != NULL;
    for (size_t i = 0; bends && i < n; i++)
        good &= dw_reader__map(reader, node->kind == DW_NODE_LIST ? node->items[i] : node, "a bend",
                               bend_fields, DW_COUNT(bend_fields), &bends[i], NULL);
    drawn->bends = bends;
    drawn->n_bends = bends ? n : 0;
    return good;
}

static bool read_straights(struct dw_reader *reader, const struct dw_node *node,
                           struct dw_drawn *drawn)
{
    static const struct dw_field field = {"straights", NULL, 0, DW_MAY};
    size_t n = drawn->n_bends + 1;
    dw_length *straights = keep(reader, n, sizeof *straights);
    drawn->straights = straights;
    if (!straights)
        return false;
    if (!node)
        return true;
    if (node->kind != DW_NODE_LIST || node->n_items != n)
        return dw_read__refuse(reader, &field, node, 0,
                               "%zu bend%s have %zu straights; write them as a list: [200, 600]",
                               n - 1, n == 2 ? "" : "s", n);
    bool good = true;
    for (size_t i = 0; i < n; i++)
        good &= dw_read__length0(reader, &field, node->items[i], &straights[i]);
    return good;
}

static bool read_bent(struct dw_reader *reader, const struct dw_node *node, struct dw_drawn *drawn)
{
    struct bent_row row = {0};
    drawn->kind = DW_DRAWN_BENT;
    if (!dw_reader__map(reader, node, "a bent part", bent_fields, DW_COUNT(bent_fields), &row,
                        NULL))
        return false;
    drawn->to_apex = row.to_apex;
    drawn->least_straight = row.least;
    return read_bends(reader, row.bends, drawn) && read_straights(reader, row.straights, drawn);
}

static const struct dw_field offset_fields[] = {
    {"set", dw_read__length, offsetof(struct dw_drawn, size), DW_MUST},
    {"angle", dw_read__angle, offsetof(struct dw_drawn, angle_udeg), DW_MUST},
};
DW_FIELDS(offset, "part.offset", offset_fields);

/* --- the part -------------------------------------------------------------------------------- */

static int n_shapes(const struct dw_drawn_row *row, bool has_length)
{
    return has_length + (row->centres > 0) + (row->outside > 0) + (row->clear > 0) +
           (row->offset != NULL) + (row->bent != NULL);
}

static bool read_shape(struct dw_reader *reader, const struct dw_drawn_row *row,
                       const struct dw_part *part, struct dw_drawn *drawn)
{
    if (row->bent)
        return read_bent(reader, row->bent, drawn);
    if (row->offset) {
        drawn->kind = DW_DRAWN_OFFSET;
        return dw_reader__map(reader, row->offset, "an offset", offset_fields,
                              DW_COUNT(offset_fields), drawn, NULL);
    }
    drawn->kind = part->min > 0 ? DW_DRAWN_CUT : DW_DRAWN_STRAIGHT;
    drawn->size = part->min + row->centres + row->outside + row->clear; /* one of them */
    if (row->outside)
        drawn->measure = DW_REF_OUTSIDE;
    if (row->clear)
        drawn->measure = DW_REF_INSIDE;
    return true;
}

bool dw_trade__draw(struct dw_reader *reader, const struct dw_drawn_row *row, bool has_length,
                    struct dw_part *part)
{
    int shapes = n_shapes(row, has_length);
    if (shapes != 1) {
        dw_reader__say(reader, DW_WRONG, part->at,
                       shapes == 0
                           ? "a part: `length` is missing"
                           : "a part: give one of length, centres, outside, clear, offset, bent");
        return false;
    }
    if (has_length && !row->end_1 && !row->end_2 && !row->both_ends && !row->long_points)
        return true;
    struct dw_drawn *drawn = keep(reader, 1, sizeof *drawn);
    if (!drawn)
        return false;
    bool good = read_shape(reader, row, part, drawn);
    good &=
        read_ends(reader, row, part, drawn) && read_long_points(reader, row->long_points, drawn);
    part->drawn = drawn;
    return good;
}
