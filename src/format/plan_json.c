/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "format/plan_json.h"

static const char *const status_words[] = {"optimal", "within", "stopped", "infeasible"};
static const char *const proof_words[] = {"none", "duals", "search"};
static const char *const use_words[] = {"part", "post", "surplus", "bend end"};
static const char *const rest_words[] = {"none", "scrap", "kept"};

#define ANY                        INT64_MIN, INT64_MAX, NULL, 0, 1
#define FROM(least)                least, INT64_MAX, NULL, 0, 1
#define WITHIN(lo, hi)             lo, hi, NULL, 0, 1
#define ONE_OF(words)              0, 0, words, DW_COUNT(words), 1
#define SINCE(version, least)      least, INT64_MAX, NULL, 0, version /* FROM, in later documents */
#define WORD_SINCE(version, words) 0, 0, words, DW_COUNT(words), version
#define TABLE(members)                                                                             \
    {                                                                                              \
        members, DW_COUNT(members)                                                                 \
    }

#define AT(member) offsetof(struct dw_plan, member)
static const struct dw_member plan_members[] = {
    {"status", DW_VALUE_WORD, AT(status), ONE_OF(status_words)},
    {"bound", DW_VALUE_MONEY, AT(bound), ANY},
    {"number", DW_VALUE_INTEGER, AT(number), SINCE(2, 0)},
    {"replaces", DW_VALUE_INTEGER, AT(replaces), SINCE(2, 0)},
};
const struct dw_member_table dw_plan__members = TABLE(plan_members);
#undef AT

#define AT(member) offsetof(struct dw_totals, member)
static const struct dw_member totals_members[] = {
    {"bars", DW_VALUE_MONEY, AT(bars), ANY},
    {"taken", DW_VALUE_MONEY, AT(taken), ANY},
    {"cuts", DW_VALUE_MONEY, AT(cuts), ANY},
    {"kept", DW_VALUE_MONEY, AT(kept), ANY},
    {"posts", DW_VALUE_MONEY, AT(posts), ANY},
    {"value", DW_VALUE_MONEY, AT(value), ANY},
    {"bar count", DW_VALUE_INTEGER, AT(n_bars), FROM(0)},
    {"cut count", DW_VALUE_INTEGER, AT(n_cuts), FROM(0)},
    {"kept count", DW_VALUE_INTEGER, AT(n_kept), FROM(0)},
    {"length in", DW_VALUE_LENGTH, AT(in), FROM(0)},
    {"length in parts", DW_VALUE_LENGTH, AT(in_parts), FROM(0)},
    {"length in posts", DW_VALUE_LENGTH, AT(in_posts), FROM(0)},
    {"length in kept", DW_VALUE_LENGTH, AT(in_kept), FROM(0)},
    {"length in scrap", DW_VALUE_LENGTH, AT(in_scrap), FROM(0)},
    {"length in trim", DW_VALUE_LENGTH, AT(in_trim), FROM(0)},
    {"length in chips", DW_VALUE_LENGTH, AT(in_chips), FROM(0)},
};
const struct dw_member_table dw_totals__members = TABLE(totals_members);
#undef AT

#define AT(member) offsetof(struct dw_take, member)
static const struct dw_member take_members[] = {
    {"supply", DW_VALUE_SUPPLY, AT(supply), ANY},
    {"used", DW_VALUE_INTEGER, AT(used), WITHIN(0, DW_MAX_PIECES)},
    {"bought", DW_VALUE_INTEGER, AT(bought), FROM(0)},
    {"money", DW_VALUE_MONEY, AT(money), ANY},
};
const struct dw_member_table dw_take__members = TABLE(take_members);
#undef AT

#define AT(member) offsetof(struct dw_layout, member)
static const struct dw_member layout_members[] = {
    {"supply", DW_VALUE_SUPPLY, AT(supply), ANY},
    {"group", DW_VALUE_GROUP, AT(group), ANY},
    {"bar", DW_VALUE_INTEGER, AT(bar), SINCE(2, 1)},
    {"count", DW_VALUE_INTEGER, AT(count), WITHIN(1, DW_MAX_PIECES)},
    {"rest", DW_VALUE_WORD, AT(rest), ONE_OF(rest_words)},
    {"leftover", DW_VALUE_LENGTH, AT(leftover), WITHIN(0, DW_LENGTH_MAX)},
};
const struct dw_member_table dw_layout__members = TABLE(layout_members);
#undef AT

#define AT(member) offsetof(struct dw_piece, member)
static const struct dw_member piece_members[] = {
    {"use", DW_VALUE_WORD, AT(use), ONE_OF(use_words)},
    {"part", DW_VALUE_PART, AT(part), ANY},
    {"length", DW_VALUE_LENGTH, AT(length), WITHIN(1, DW_LENGTH_MAX)},
    {"count", DW_VALUE_INTEGER, AT(count), WITHIN(1, DW_MAX_PIECES)},
};
const struct dw_member_table dw_piece__members = TABLE(piece_members);
#undef AT

#define AT(member) offsetof(struct dw_saw_piece, member)
static const struct dw_member saw_piece_members[] = {
    {"number", DW_VALUE_INTEGER, AT(number), FROM(1)},
    {"job", DW_VALUE_TEXT, AT(order), ANY},
    {"client", DW_VALUE_TEXT, AT(client), ANY},
    {"due", DW_VALUE_TEXT, AT(due), ANY},
    {"section", DW_VALUE_TEXT, AT(section), ANY},
    {"remark", DW_VALUE_TEXT, AT(remark), ANY},
    {"measure first", DW_VALUE_YES, AT(measure_first), ANY},
    {"allowance", DW_VALUE_LENGTH, AT(allowance), FROM(0)},
    {"written", DW_VALUE_LENGTH, AT(written), FROM(0)},
    {"bent bar", DW_VALUE_YES, AT(bent_bar), ANY},
    {"long points", DW_VALUE_WORD, AT(long_points), ONE_OF(dw_long_points__words)},
};
const struct dw_member_table dw_saw_piece__members = TABLE(saw_piece_members);
#undef AT

#define AT(member) offsetof(struct dw_saw_end, member)
static const struct dw_member saw_end_members[] = {
    {"shape", DW_VALUE_WORD, AT(shape), ONE_OF(dw_end_shape__words)},
    {"angle", DW_VALUE_ANGLE, AT(angle_udeg), FROM(0)},
    {"point", DW_VALUE_WORD, AT(point), ONE_OF(dw_mitre_point__words)},
    {"meets", DW_VALUE_LENGTH, AT(meets), FROM(0)},
    {"fitting", DW_VALUE_TEXT, AT(fitting), ANY},
};
const struct dw_member_table dw_saw_end__members = TABLE(saw_end_members);
#undef AT

#define AT(member) offsetof(struct dw_made_bend, member)
static const struct dw_member made_bend_members[] = {
    {"straight", DW_VALUE_LENGTH, AT(straight), FROM(0)},
    {"radius", DW_VALUE_LENGTH, AT(radius), FROM(0)},
    {"angle", DW_VALUE_ANGLE, AT(angle_udeg), FROM(0)},
};
const struct dw_member_table dw_made_bend__members = TABLE(made_bend_members);
#undef AT

const char *const dw_plan__saw_names[DW_SAW_MEMBERS] = {
    "number",    "job",     "client",   "due",         "section", "remark", "measure first",
    "allowance", "written", "bent bar", "long points", "ends",    "bend",   "work",
};

#define AT(member) offsetof(struct dw_group, member)
static const struct dw_member group_members[] = {
    {"status", DW_VALUE_WORD, AT(status), ONE_OF(status_words)},
    {"proof", DW_VALUE_WORD, AT(proof), ONE_OF(proof_words)},
    {"value", DW_VALUE_MONEY, AT(value), ANY},
    {"bound", DW_VALUE_MONEY, AT(bound), ANY},
    {"method", DW_VALUE_TEXT, AT(method), ANY},
    {"work", DW_VALUE_INTEGER, AT(work), FROM(0)},
};
const struct dw_member_table dw_group__members = TABLE(group_members);
#undef AT

#define AT(member) offsetof(struct dw_certificate, member)
static const struct dw_member certificate_members[] = {
    {"scale", DW_VALUE_INTEGER, AT(scale), FROM(0)},
    {"bound", DW_VALUE_MONEY, AT(bound), ANY},
};
const struct dw_member_table dw_certificate__members = TABLE(certificate_members);
#undef AT

static const struct dw_member dual_members[] = {
    {"part", DW_VALUE_PART, offsetof(struct dw_dual, part), ANY},
    {"dual", DW_VALUE_INTEGER, offsetof(struct dw_dual, dual), FROM(0)},
};
const struct dw_member_table dw_dual__members = TABLE(dual_members);

#define AT(member) offsetof(struct dw_shortage, member)
static const struct dw_member shortage_members[] = {
    {"part", DW_VALUE_PART, AT(part), ANY},
    {"missing", DW_VALUE_INTEGER, AT(missing), WITHIN(1, DW_MAX_PIECES)},
    {"never", DW_VALUE_YES, AT(never), ANY},
};
const struct dw_member_table dw_shortage__members = TABLE(shortage_members);
#undef AT

static const char *const source_words[] = {"new", "shelf", "offcut"};
static const char *const end_words[] = {"mill", "sawn"};
static const char *const counted_words[] = {
#define DW_COUNTED_WORD(name, word, reason) [name] = word,
    DW_COUNTED_LIST(DW_COUNTED_WORD)
#undef DW_COUNTED_WORD
};

#define AT(member) offsetof(struct dw_supply, member)
static const struct dw_member supply_members[] = {
    {"id", DW_VALUE_TEXT, AT(id), ANY},
    {"material", DW_VALUE_MATERIAL, AT(material), ANY},
    {"source", DW_VALUE_WORD, AT(source), ONE_OF(source_words)},
    {"length", DW_VALUE_LENGTH, AT(length), WITHIN(1, DW_LENGTH_MAX)},
    {"measured", DW_VALUE_LENGTH, AT(measured), WITHIN(0, DW_LENGTH_MAX)},
    {"price", DW_VALUE_MONEY, AT(price), ANY},
    {"book value", DW_VALUE_MONEY, AT(paid), SINCE(2, 0)},
    {"counted", DW_VALUE_WORD, AT(counted), WORD_SINCE(2, counted_words)},
    {"datum end", DW_VALUE_WORD, AT(ends[0]), ONE_OF(end_words)},
    {"far end", DW_VALUE_WORD, AT(ends[1]), ONE_OF(end_words)},
    {"trim", DW_VALUE_LENGTH, AT(trim), WITHIN(0, DW_LENGTH_MAX)},
    {"bend", DW_VALUE_LENGTH, AT(bend), WITHIN(0, DW_LENGTH_MAX)},
    {"tail material", DW_VALUE_MATERIAL, AT(tail_material), ANY},
    {"place", DW_VALUE_TEXT, AT(place), ANY},
    {"owner", DW_VALUE_TEXT, AT(owner), ANY},
    {"mark", DW_VALUE_TEXT, AT(mark), ANY},
    {"date", DW_VALUE_TEXT, AT(date), ANY},
};
const struct dw_member_table dw_supply__members = TABLE(supply_members);
#undef AT

#define AT(member) offsetof(struct dw_rest_part, member)
static const struct dw_member rest_part_members[] = {
    {"part", DW_VALUE_PART, AT(part), ANY},
    {"count", DW_VALUE_INTEGER, AT(count), WITHIN(1, DW_MAX_PIECES)},
    {"measured", DW_VALUE_LENGTH, AT(measured), WITHIN(0, DW_LENGTH_MAX)},
};
const struct dw_member_table dw_rest_part__members = TABLE(rest_part_members);
#undef AT

static const struct dw_member left_members[] = {
    {"supply", DW_VALUE_SUPPLY, offsetof(struct dw_left, supply), ANY},
    {"count", DW_VALUE_INTEGER, offsetof(struct dw_left, count), FROM(0)},
};
const struct dw_member_table dw_left__members = TABLE(left_members);

bool dw_plan__digits(const char *text, int64_t *out)
{
    const char *digit = text + (*text == '-');
    int64_t value = 0;
    if (*digit == '\0' || (*digit == '0' && (digit[1] || digit != text)))
        return false;
    for (; *digit; digit++) {
        if (*digit < '0' || *digit > '9' || !dw_mul__i64(value, 10, &value))
            return false;
        int64_t one = *digit - '0';
        if (!(*text == '-' ? dw_sub__i64(value, one, &value) : dw_add__i64(value, one, &value)))
            return false;
    }
    *out = value;
    return true;
}
