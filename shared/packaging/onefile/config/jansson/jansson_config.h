/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What Jansson asks of its platform, for a browser. */
#ifndef JANSSON_CONFIG_H
#define JANSSON_CONFIG_H
#define JSON_INLINE               inline
#define JSON_INTEGER_IS_LONG_LONG 1
#define JSON_HAVE_LOCALECONV      1
#define JSON_HAVE_ATOMIC_BUILTINS 1
#define JSON_HAVE_SYNC_BUILTINS   1
#define JSON_PARSER_MAX_DEPTH     2048
#endif
