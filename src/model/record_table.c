/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of members of the records of a job and a plan. */
#include "model/record.h"

#include <dropwise/terms.h>

#define ANY            INT64_MIN, INT64_MAX, NULL, 1, DW_MEMBER_REST
#define FROM(least)    least, INT64_MAX, NULL, 1, DW_MEMBER_REST
#define WITHIN(lo, hi) lo, hi, NULL, 1, DW_MEMBER_REST
#define ONE_OF(words)  0, 0, words, 1, DW_MEMBER_REST
#define SINCE(version, least)                                                                      \
    least, INT64_MAX, NULL, version, DW_MEMBER_REST /* FROM, in later documents */
#define WORD_SINCE(version, words) 0, 0, words, version, DW_MEMBER_REST
#define UNWRITTEN                  INT64_MIN, INT64_MAX, NULL, DW_RECORD_ALL, DW_MEMBER_REST /* in no document */
#define TABLE(members)                                                                             \
    {                                                                                              \
        members, DW_COUNT(members)                                                                 \
    }

#define AT(member) offsetof(struct dw_plan, member)
static const struct dw_member plan_members[] = {
    {"status", DW_VALUE_WORD, AT(status), ONE_OF(&dw_status__words)},
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

#define AT(member) offsetof(struct dw_charge, member)
static const struct dw_member charge_members[] = {
    {"supplier", DW_VALUE_SUPPLIER, AT(supplier), ANY},
    {"group", DW_VALUE_GROUP_OR_NONE, AT(group), ANY},
    {"goods", DW_VALUE_MONEY, AT(goods), ANY},
    {"cut count", DW_VALUE_INTEGER, AT(cuts), FROM(0)},
    {"cutting", DW_VALUE_MONEY, AT(cutting), ANY},
    {"least order", DW_VALUE_MONEY, AT(minimum), ANY},
    {"small order", DW_VALUE_MONEY, AT(small), ANY},
    {"freight", DW_VALUE_MONEY, AT(freight), ANY},
    {"spare", DW_VALUE_MONEY, AT(spare), ANY},
};
const struct dw_member_table dw_charge__members = TABLE(charge_members);
#undef AT

static const struct dw_member order_totals_members[] = {
    {"charges", DW_VALUE_MONEY, offsetof(struct dw_totals, charges), ANY},
    {"spare", DW_VALUE_MONEY, offsetof(struct dw_totals, spare), ANY},
};
const struct dw_member_table dw_order_totals__members = TABLE(order_totals_members);

#define AT(member) offsetof(struct dw_layout, member)
static const struct dw_member layout_members[] = {
    {"supply", DW_VALUE_SUPPLY, AT(supply), ANY},
    {"group", DW_VALUE_GROUP, AT(group), ANY},
    {"bar", DW_VALUE_INTEGER, AT(bar), SINCE(2, 1)},
    {"count", DW_VALUE_INTEGER, AT(count), WITHIN(1, DW_MAX_PIECES)},
    {"rest", DW_VALUE_WORD, AT(rest), ONE_OF(&dw_rest__words)},
    {"leftover", DW_VALUE_LENGTH, AT(leftover), WITHIN(0, DW_LENGTH_MAX)},
};
const struct dw_member_table dw_layout__members = TABLE(layout_members);
#undef AT

#define AT(member) offsetof(struct dw_piece, member)
static const struct dw_member piece_members[] = {
    {"use", DW_VALUE_WORD, AT(use), ONE_OF(&dw_use__words)},
    {"part", DW_VALUE_PART, AT(part), ANY},
    {"length", DW_VALUE_LENGTH, AT(length), WITHIN(1, DW_LENGTH_MAX)},
    {"count", DW_VALUE_INTEGER, AT(count), WITHIN(1, DW_MAX_PIECES)},
};
const struct dw_member_table dw_piece__members = TABLE(piece_members);
#undef AT

#define AT(member) offsetof(struct dw_mark, member)
static const struct dw_member mark_members[] = {
    {"stop", DW_VALUE_LENGTH, AT(stop), UNWRITTEN},
    {"running", DW_VALUE_LENGTH, AT(running), UNWRITTEN},
};
const struct dw_member_table dw_mark__members = TABLE(mark_members);
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
    {"long points", DW_VALUE_WORD, AT(long_points), ONE_OF(&dw_long_points__words)},
};
const struct dw_member_table dw_saw_piece__members = TABLE(saw_piece_members);
#undef AT

#define AT(member) offsetof(struct dw_saw_end, member)
static const struct dw_member saw_end_members[] = {
    {"shape", DW_VALUE_WORD, AT(shape), ONE_OF(&dw_end_shape__words)},
    {"angle", DW_VALUE_ANGLE, AT(angle_udeg), FROM(0)},
    {"point", DW_VALUE_WORD, AT(point), ONE_OF(&dw_mitre_point__words)},
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

const char *const dw_record__saw_names[DW_SAW_MEMBERS] = {
    "number",  "job",      "client",      "due",  "section", "remark", "measure first", "allowance",
    "written", "bent bar", "long points", "ends", "bend",    "work",   "measure",
};

#define AT(member) offsetof(struct dw_group, member)
static const struct dw_member group_members[] = {
    {"status", DW_VALUE_WORD, AT(status), ONE_OF(&dw_status__words)},
    {"proof", DW_VALUE_WORD, AT(proof), ONE_OF(&dw_proof__words)},
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

#define AT(member) offsetof(struct dw_supply, member)
static const struct dw_member supply_members[] = {
    {"id", DW_VALUE_TEXT, AT(id), ANY},
    {"material", DW_VALUE_MATERIAL, AT(material), ANY},
    {"source", DW_VALUE_WORD, AT(source), ONE_OF(&dw_source__words)},
    {"length", DW_VALUE_LENGTH, AT(length), WITHIN(1, DW_LENGTH_MAX)},
    {"measured", DW_VALUE_LENGTH, AT(measured), WITHIN(0, DW_LENGTH_MAX)},
    {"price", DW_VALUE_MONEY, AT(price), ANY},
    {"book value", DW_VALUE_MONEY, AT(paid), SINCE(2, 0)},
    {"counted", DW_VALUE_WORD, AT(counted), WORD_SINCE(2, &dw_counted__words)},
    {"datum end", DW_VALUE_WORD, AT(ends[0]), ONE_OF(&dw_end__words)},
    {"far end", DW_VALUE_WORD, AT(ends[1]), ONE_OF(&dw_end__words)},
    {"trim", DW_VALUE_LENGTH, AT(trim), WITHIN(0, DW_LENGTH_MAX)},
    {"bend", DW_VALUE_LENGTH, AT(bend), WITHIN(0, DW_LENGTH_MAX)},
    {"tail material", DW_VALUE_MATERIAL, AT(tail_material), ANY},
    {"place", DW_VALUE_TEXT, AT(place), ANY},
    {"owner", DW_VALUE_TEXT, AT(owner), ANY},
    {"mark", DW_VALUE_TEXT, AT(mark), ANY},
    {"date", DW_VALUE_TEXT, AT(date), ANY},
    {"count", DW_VALUE_INTEGER, AT(count), UNWRITTEN},
    {"pack", DW_VALUE_INTEGER, AT(pack), UNWRITTEN},
    {"supplier", DW_VALUE_TEXT, AT(supplier), UNWRITTEN},
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

static const struct dw_member price_break_members[] = {
    {"from", DW_VALUE_INTEGER, offsetof(struct dw_price_break, from), UNWRITTEN},
    {"price", DW_VALUE_MONEY, offsetof(struct dw_price_break, price), UNWRITTEN},
};
const struct dw_member_table dw_price_break__members = TABLE(price_break_members);

#define AT(member) offsetof(struct dw_part, member)
static const struct dw_member part_members[] = {
    {"label", DW_VALUE_TEXT, AT(label), UNWRITTEN},
    {"section", DW_VALUE_TEXT, AT(section), UNWRITTEN},
    {"job", DW_VALUE_ORDER, AT(order), UNWRITTEN},
    {"length", DW_VALUE_LENGTH, AT(min), UNWRITTEN},
    {"longest", DW_VALUE_LENGTH, AT(max), UNWRITTEN},
    {"count", DW_VALUE_INTEGER, AT(count), UNWRITTEN},
    {"post", DW_VALUE_YES, AT(post), UNWRITTEN},
    {"worth", DW_VALUE_MONEY, AT(worth), UNWRITTEN},
    {"measure first", DW_VALUE_YES, AT(measure_first), UNWRITTEN},
    {"allowance", DW_VALUE_LENGTH, AT(allowance), UNWRITTEN},
    {"written", DW_VALUE_TEXT, AT(written), UNWRITTEN},
    {"remark", DW_VALUE_TEXT, AT(remark), UNWRITTEN},
};
const struct dw_member_table dw_part__members = TABLE(part_members);
#undef AT

#define AT(member) offsetof(struct dw_order, member)
static const struct dw_member order_members[] = {
    {"name", DW_VALUE_TEXT, AT(name), UNWRITTEN},
    {"client", DW_VALUE_TEXT, AT(client), UNWRITTEN},
    {"due", DW_VALUE_TEXT, AT(due), UNWRITTEN},
};
const struct dw_member_table dw_order__members = TABLE(order_members);
#undef AT

#define AT(member) offsetof(struct dw_material, member)
static const struct dw_member material_members[] = {
    {"id", DW_VALUE_TEXT, AT(id), UNWRITTEN},
    {"name", DW_VALUE_TEXT, AT(name), UNWRITTEN},
    {"alloy", DW_VALUE_TEXT, AT(alloy), UNWRITTEN},
    {"finish", DW_VALUE_TEXT, AT(finish), UNWRITTEN},
    {"outside", DW_VALUE_LENGTH, AT(od), UNWRITTEN},
    {"wall", DW_VALUE_LENGTH, AT(wall), UNWRITTEN},
    {"rolled radius", DW_VALUE_LENGTH, AT(radius), UNWRITTEN},
    {"density", DW_VALUE_INTEGER, AT(density_g_m3), UNWRITTEN},
    {"end bent", DW_VALUE_YES, AT(end_bent), UNWRITTEN},
    {"keep", DW_VALUE_LENGTH, AT(worth.keep), UNWRITTEN},
};
const struct dw_member_table dw_material__members = TABLE(material_members);
#undef AT

#define AT(member) offsetof(struct dw_section, member)
static const struct dw_member section_members[] = {
    {"name", DW_VALUE_TEXT, AT(name), UNWRITTEN},
    {"longest", DW_VALUE_LENGTH, AT(longest), UNWRITTEN},
    {"weight", DW_VALUE_INTEGER, AT(weight_mg), UNWRITTEN},
    {"carries", DW_VALUE_INTEGER, AT(added_mg), UNWRITTEN},
    {"length", DW_VALUE_LENGTH, AT(size[0]), UNWRITTEN},
    {"width", DW_VALUE_LENGTH, AT(size[1]), UNWRITTEN},
    {"height", DW_VALUE_LENGTH, AT(size[2]), UNWRITTEN},
    {"door width", DW_VALUE_LENGTH, AT(door[0]), UNWRITTEN},
    {"door height", DW_VALUE_LENGTH, AT(door[1]), UNWRITTEN},
    {"van length", DW_VALUE_LENGTH, AT(van[0]), UNWRITTEN},
    {"van width", DW_VALUE_LENGTH, AT(van[1]), UNWRITTEN},
    {"van height", DW_VALUE_LENGTH, AT(van[2]), UNWRITTEN},
    {"riser length", DW_VALUE_LENGTH, AT(riser[0]), UNWRITTEN},
    {"riser width", DW_VALUE_LENGTH, AT(riser[1]), UNWRITTEN},
};
const struct dw_member_table dw_section__members = TABLE(section_members);
#undef AT
