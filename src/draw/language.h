/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words, figures and dates of a client's paper in the client's language. */
#ifndef DW_DRAW_LANGUAGE_H
#define DW_DRAW_LANGUAGE_H

#include "base/base.h"

#include <dropwise/job.h>

/* X(key): the keys of the files in shared/languages, in capitals, with _ for a blank. */
#define DW_SAY_LIST(X)                                                                             \
    X(DECIMAL)                                                                                     \
    X(GROUP)                                                                                       \
    X(MONTHS)                                                                                      \
    X(DATE)                                                                                        \
    X(QUOTE)                                                                                       \
    X(DATE_OF_PAPER)                                                                               \
    X(VALID_UNTIL)                                                                                 \
    X(REFERENCE)                                                                                   \
    X(DUE)                                                                                         \
    X(CONTACT)                                                                                     \
    X(TO)                                                                                          \
    X(WHAT)                                                                                        \
    X(QUANTITY)                                                                                    \
    X(EACH)                                                                                        \
    X(AMOUNT)                                                                                      \
    X(TUBE)                                                                                        \
    X(TUBE_TO_LENGTH)                                                                              \
    X(TUBE_TO_LENGTHS)                                                                             \
    X(WHOLE_BARS)                                                                                  \
    X(WHOLE_BARS_MANY)                                                                             \
    X(TUBE_WASTE)                                                                                  \
    X(CUTTING)                                                                                     \
    X(DELIVERY)                                                                                    \
    X(LABOUR)                                                                                      \
    X(HOUR)                                                                                        \
    X(NET)                                                                                         \
    X(TAX_ON)                                                                                      \
    X(NO_TAX_ON)                                                                                   \
    X(TOTAL)                                                                                       \
    X(OFFCUT)                                                                                      \
    X(OFFCUTS)                                                                                     \
    X(PARTS)                                                                                       \
    X(PART)                                                                                        \
    X(SECTION)                                                                                     \
    X(LENGTH)                                                                                      \
    X(COUNT)                                                                                       \
    X(TERMS)                                                                                       \
    X(ACCEPTED)                                                                                    \
    X(SIGNATURE)                                                                                   \
    X(TAX_NUMBER)                                                                                  \
    X(BANK)                                                                                        \
    X(PAGE)                                                                                        \
    X(CAUTION)

enum dw_say {
#define DW_SAY_ENUM(key) DW_SAY_##key,
    DW_SAY_LIST(DW_SAY_ENUM)
#undef DW_SAY_ENUM
        DW_N_SAY
};

struct dw_language {
    const char *code; /* ISO 639-1 */
    const char *words[DW_N_SAY];
};

/* All languages that there are; NULL ends them. */
extern const struct dw_language *const dw_languages__all[];

/* NULL: no file of that language. `code` NULL: English. */
const struct dw_language *dw_language__find(const char *code);

/* The text with {0}, {1}, {2} filled in. Appends. */
void dw_language__fill(struct dw_buf *buf, const struct dw_language *language, enum dw_say say,
                       const char *a, const char *b, const char *c);

/* A figure such as "-1234.50" with the language's signs. Appends. */
void dw_language__figure(struct dw_buf *buf, const struct dw_language *language,
                         const char *figure);
/* A day, ISO 8601, as it is said; what is no day stays as it is. Appends. */
void dw_language__date(struct dw_buf *buf, const struct dw_language *language, const char *date);
/* A length in metres to the centimetre, or feet to the tenth. Appends. */
void dw_language__long(struct dw_buf *buf, const struct dw_language *language, dw_length length,
                       enum dw_unit unit);

#endif
