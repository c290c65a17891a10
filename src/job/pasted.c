/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/pasted.h"
#include "format/pasted.h"

#define NAME "pasted"

dw_err dw_pasted__job(const char *text, size_t n, char **json, struct dw_report *report,
                      struct dw_error *error)
{
    return dw_yaml__json(text, n, NAME, json, report, error);
}

dw_err dw_pasted__parts(const char *text, size_t n, enum dw_unit unit, char **json,
                        struct dw_report *report, struct dw_error *error)
{
    return dw_parts__json(text, n, NAME, unit, json, report, error);
}
