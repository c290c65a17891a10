/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user brings to a form: a YAML job as a tree to edit, rows copied from a spreadsheet. Both
 * keep every value as it was written; whether it is right is for dw_job_read_text to say. */
#ifndef DW_FORMAT_PASTED_H
#define DW_FORMAT_PASTED_H

#include "base/base.h"
#include "model/model.h"

#include <dropwise/list.h>

/* A YAML job as JSON: maps, lists, and each scalar as text; keys by the first name of their field.
 * *json is terminated and yours to free; NULL, with DW_ERR_INPUT and a report, for what is no YAML.
 */
dw_err dw_yaml__json(const char *text, size_t n, const char *name, char **json,
                     struct dw_report *report, struct dw_error *error);

/* Rows as a spreadsheet copies them (or a file has them), and how each line was understood:
 *   {"columns": ["label", ...], "at": [2, ...], "rows": [["upright", ...], ...],
 *    "lines": [{"line": 3, "role": "taken", "text": "1 | upright | 1180,5 | 4",
 *               "cells": ["1", "upright", "1180,5", "4"]}, ...],
 *    "sheet": ""}
 * with the columns by their own names, and where each stands in the file, from 1. A length of a
 * column that names a unit is given it. Roles are those of DW_ROW_ROLE_LIST; the rows are the lines
 * that are taken, in their order. */
dw_err dw_table__json(const struct dw_list_source *source, char **json, struct dw_report *report,
                      struct dw_error *error);

#endif
