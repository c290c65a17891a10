/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rules for the meetings of a drawing: which fitting, mitre or notch an end gets. */
#include "format/joint.h"
#include "format/fields.h"
#include "format/trade.h"

#include <string.h>
#include <strings.h>

static const char *const meeting_texts[] = {
#define MEETING_TEXT(name, word) [name] = word,
    DW_MEETING_LIST(MEETING_TEXT)
#undef MEETING_TEXT
};
static const struct dw_words meeting_words = {meeting_texts, DW_COUNT(meeting_texts)};

struct joint_row {
    struct dw_joint joint;
    const struct dw_node *end;
};

static bool read_meeting(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value, void *row)
{
    unsigned found = 0;
    if (!dw_words__find(&meeting_words, value->text, value->n, &found))
        return dw_read__refuse(reader, field, value, 0,
                               "write end, corner, T, cross or splice: how lines meet");
    ((struct joint_row *)row)->joint.meet = (enum dw_meet)found;
    return true;
}

#define AT(member) offsetof(struct joint_row, member)

static const struct dw_field joint_fields[] = {
    {"meeting", read_meeting, 0, DW_MUST},
    {"layer", dw_read__text, AT(joint.layer), DW_MAY},
    {"with", dw_read__text, AT(joint.with), DW_MAY},
    {"end|fitting", dw_read__node, AT(end), DW_MUST},
};
static const struct dw_choice joint_choices[] = {
    {"meeting", &meeting_words, DW_MEET_END, DW_MEET_SPLICE + 1}};
DW_FIELDS_CHOOSE(joint, "joint", joint_fields, joint_choices);

static bool read_end(struct dw_reader *reader, struct joint_row *row)
{
    static const struct dw_field field = {"end", NULL, 0, DW_MAY};
    static const char *const words[] = {
        [DW_JOINT_FREE] = "free", [DW_JOINT_MITRE] = "mitre", [DW_JOINT_NOTCH] = "notch"};
    const char *text = NULL;
    size_t n = 0;
    struct dw_joint *joint = &row->joint;
    if (!dw_read__scalar(reader, &field, row->end, &text, &n))
        return false;
    joint->kind = DW_JOINT_FITTING;
    for (size_t i = 0; i < DW_COUNT(words); i++)
        if (words[i] && strlen(words[i]) == n && memcmp(words[i], text, n) == 0)
            joint->kind = (enum dw_joint_kind)i;
    if (n == 5 && memcmp(text, "miter", n) == 0) /* as Americans spell it */
        joint->kind = DW_JOINT_MITRE;
    bool ends = joint->meet == DW_MEET_END;
    if (joint->kind == DW_JOINT_MITRE && joint->meet != DW_MEET_CORNER)
        return dw_read__refuse(reader, &field, row->end, 0, "a mitre is for a corner of two tubes");
    if (joint->kind == DW_JOINT_NOTCH && (ends || joint->meet == DW_MEET_SPLICE))
        return dw_read__refuse(reader, &field, row->end, 0,
                               "a notch needs the side of a tube to sit on");
    if (joint->kind == DW_JOINT_FITTING)
        joint->fitting = dw_trade__fitting(reader, &field, row->end);
    return joint->kind != DW_JOINT_FITTING || joint->fitting != DW_NONE;
}

void dw_reader__joints(struct dw_reader *reader, const struct dw_node *list)
{
    size_t n = 0;
    struct dw_joint *joints = dw_trade__list(reader, list, "joints", sizeof *joints, &n);
    reader->joints = joints;
    for (size_t i = 0; i < n; i++) {
        struct joint_row row = {.joint = {.at = list->items[i]->at}};
        if (dw_reader__map(reader, list->items[i], "a joint", joint_fields, DW_COUNT(joint_fields),
                           &row, NULL) &&
            read_end(reader, &row))
            joints[reader->n_joints++] = row.joint;
    }
}

/* --- which rule ------------------------------------------------------------------------------- */

static bool is_layer(const struct dw_sketch *sketch, size_t layer, const char *name)
{
    return !name || strcasecmp(sketch->layers[layer].name, name) == 0;
}

static bool meets_layer(const struct dw_sketch *sketch, const struct dw_tube_end *end,
                        const char *name)
{
    const struct dw_meeting *meeting = &sketch->meetings[end->meeting];
    if (!name)
        return true;
    for (size_t i = 0; i < meeting->n_legs; i++)
        if (i != end->leg && is_layer(sketch, sketch->wires[meeting->legs[i].wire].layer, name))
            return true;
    return false;
}

struct dw_joint *dw_joint__find(struct dw_reader *reader, const struct dw_sketch *sketch,
                                const struct dw_tube *tube, int end)
{
    const struct dw_tube_end *one = &tube->ends[end];
    for (size_t i = 0; i < reader->n_joints; i++) {
        struct dw_joint *joint = &reader->joints[i];
        if (joint->meet == sketch->meetings[one->meeting].meet &&
            is_layer(sketch, tube->layer, joint->layer) && meets_layer(sketch, one, joint->with)) {
            joint->used = true;
            return joint;
        }
    }
    return NULL;
}

void dw_reader__unused_joints(struct dw_reader *reader)
{
    for (size_t i = 0; i < reader->n_joints && reader->n_drawings > 0; i++)
        if (!reader->joints[i].used)
            dw_reader__say(reader, DW_NOTE, reader->joints[i].at,
                           "no end in the drawing is one of this joint's");
}
