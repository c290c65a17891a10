/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words about a drawing: kinds of entities and meetings, and remarks with their place in it. */
#include "drawing/sketch.h"

#include <stdio.h>
#include <string.h>

const char *dw_entity__word(enum dw_entity_role role)
{
    static const char *const entity_words[] = {
#define ENTITY_ROW(name, word) [name] = word,
        DW_ENTITY_ROLE_LIST(ENTITY_ROW)
#undef ENTITY_ROW
    };
    return entity_words[role];
}

const char *dw_meeting__word(enum dw_meet meet)
{
    static const char *const meeting_words[] = {
#define MEETING_ROW(name, word) [name] = word,
        DW_MEETING_LIST(MEETING_ROW)
#undef MEETING_ROW
    };
    return meeting_words[meet];
}

/* A coordinate as the drawing has it, with at most three decimals. */
static void put_coordinate(struct dw_buf *buf, const struct dw_sketch *sketch, dw_length at)
{
    const struct dw_length_style style = {.unit = sketch->unit, .decimals = 3, .bare = true};
    char text[DW_LENGTH_TEXT];
    if (sketch->unit == DW_UNIT_FT) { /* feet with decimals, not feet and inches */
        dw_buf__format(buf, "%.3f", (double)at / 304800000.0);
        return;
    }
    dw_length_print(text, at < 0 ? -at : at, &style);
    const char *figures = text[0] == '~' ? text + 1 : text;
    dw_buf__format(buf, "%s%s", at < 0 && strcmp(figures, "0") != 0 ? "-" : "", figures);
}

static void put_spot(struct dw_buf *buf, const struct dw_sketch *sketch, const struct dw_spot *at)
{
    for (int i = 0; i < (sketch->flat ? 2 : 3); i++) {
        dw_buf__put(buf, i == 0 ? ", at " : ", ");
        put_coordinate(buf, sketch, at->at[i]);
    }
}

dw_err dw_sketch__say(const struct dw_sketch *sketch, struct dw_report *report,
                      enum dw_severity severity, size_t entity, const struct dw_spot *at,
                      const char *format, ...)
{
    const struct dw_entity *what = &sketch->entities[entity];
    struct dw_buf buf = {0};
    char text[400];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    dw_buf__format(&buf, "%s on layer `%.60s`", what->type, sketch->layers[what->layer].name);
    if (what->handle[0])
        dw_buf__format(&buf, ", handle %s", what->handle);
    if (at)
        put_spot(&buf, sketch, at);
    dw_err err = buf.failed ? DW_ERR_NOMEM
                            : dw_report__add(report, severity, sketch->name, what->line, 1,
                                             "%s: %s", buf.text, text);
    dw_buf__free(&buf);
    return err;
}
