/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small checker for JSON Schema (draft 2020-12): the keywords that the project's schemas use. */
#ifndef TEST_SCHEMA_H
#define TEST_SCHEMA_H

#include <stdbool.h>
#include <stddef.h>

struct json_t;

/* Does `value` conform to `schema`? If not, `why` (room for n characters) says where and what. An
 * unknown keyword of the schema is a failure too. */
bool schema_check(const struct json_t *schema, const struct json_t *value, char *why, size_t n);

#endif
