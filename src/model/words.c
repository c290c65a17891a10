/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of the enums of job and plan, from the lists beside the enums. */
#include "model/model.h"
#include "base/base.h"

#include <string.h>
#include <strings.h>

#define WORD(name, word) [name] = word,

static const char *const source_words[] = {DW_SOURCE_LIST(WORD)};
static const char *const end_words[] = {DW_END_LIST(WORD)};
static const char *const usage_words[] = {DW_USAGE_LIST(WORD)};
static const char *const reference_words[] = {DW_REFERENCE_LIST(WORD)};
static const char *const end_shape_words[] = {DW_END_SHAPE_LIST(WORD)};
static const char *const mitre_point_words[] = {DW_MITRE_POINT_LIST(WORD)};
static const char *const long_points_words[] = {DW_LONG_POINTS_LIST(WORD)};
#define COUNTED(name, word, reason) [name] = word,
static const char *const counted_words[] = {DW_COUNTED_LIST(COUNTED)};
static const char *const use_words[] = {DW_USE_LIST(WORD)};
static const char *const rest_words[] = {DW_REST_LIST(WORD)};
static const char *const status_words[] = {DW_STATUS_LIST(WORD)};
static const char *const proof_words[] = {DW_PROOF_LIST(WORD)};
static const char *const line_kind_words[] = {DW_CHARGE_LIST(WORD)};

const struct dw_words dw_source__words = {source_words, DW_COUNT(source_words)};
const struct dw_words dw_end__words = {end_words, DW_COUNT(end_words)};
const struct dw_words dw_usage__words = {usage_words, DW_COUNT(usage_words)};
const struct dw_words dw_reference__words = {reference_words, DW_COUNT(reference_words)};
const struct dw_words dw_end_shape__words = {end_shape_words, DW_COUNT(end_shape_words)};
const struct dw_words dw_mitre_point__words = {mitre_point_words, DW_COUNT(mitre_point_words)};
const struct dw_words dw_long_points__words = {long_points_words, DW_COUNT(long_points_words)};
const struct dw_words dw_counted__words = {counted_words, DW_COUNT(counted_words)};
const struct dw_words dw_use__words = {use_words, DW_COUNT(use_words)};
const struct dw_words dw_rest__words = {rest_words, DW_COUNT(rest_words)};
const struct dw_words dw_status__words = {status_words, DW_COUNT(status_words)};
const struct dw_words dw_proof__words = {proof_words, DW_COUNT(proof_words)};
const struct dw_words dw_line_kind__words = {line_kind_words, DW_COUNT(line_kind_words)};

const char *dw_source_word(enum dw_source source)
{
    return source_words[source];
}

const char *dw_end_word(enum dw_end end)
{
    return end_words[end];
}

const char *dw_usage_word(enum dw_usage usage)
{
    return usage_words[usage];
}

const char *dw_reference_word(enum dw_reference reference)
{
    return reference_words[reference];
}

const char *dw_end_shape_word(enum dw_end_shape shape)
{
    return end_shape_words[shape];
}

const char *dw_mitre_point_word(enum dw_mitre_point point)
{
    return mitre_point_words[point];
}

const char *dw_long_points_word(enum dw_long_points points)
{
    return long_points_words[points];
}

const char *dw_use_word(enum dw_use use)
{
    return use_words[use];
}

const char *dw_rest_word(enum dw_rest rest)
{
    return rest_words[rest];
}

const char *dw_status_word(enum dw_status status)
{
    return status_words[status];
}

const char *dw_proof_word(enum dw_proof proof)
{
    return proof_words[proof];
}

const char *dw_line_kind_word(enum dw_line_kind kind)
{
    return line_kind_words[kind];
}

bool dw_words__find(const struct dw_words *words, const char *text, size_t n, unsigned *out)
{
    if (n == 6 && strncasecmp(text, "center", n) == 0) /* as Americans spell it */
        text = "centre";
    for (size_t i = 0; i < words->n; i++)
        if (strlen(words->words[i]) == n && strncasecmp(text, words->words[i], n) == 0) {
            *out = (unsigned)i;
            return true;
        }
    return false;
}

static bool read_end(const char *text, size_t n, enum dw_end *end)
{
    unsigned found = 0;
    while (n > 0 && *text == ' ')
        text++, n--;
    while (n > 0 && text[n - 1] == ' ')
        n--;
    bool good = dw_words__find(&dw_end__words, text, n, &found);
    *end = (enum dw_end)found;
    return good;
}

bool dw_ends__read(const char *text, size_t n, enum dw_end ends[2])
{
    static const char *const marks[] = {",", "/", " and ", "+"};
    for (size_t i = 0; i < DW_COUNT(marks); i++) {
        const char *mark = strstr(text, marks[i]);
        if (mark && mark < text + n) {
            const char *after = mark + strlen(marks[i]);
            return read_end(text, (size_t)(mark - text), &ends[0]) &&
                   read_end(after, (size_t)(text + n - after), &ends[1]);
        }
    }
    bool good = read_end(text, n, &ends[0]);
    ends[1] = ends[0];
    return good;
}
