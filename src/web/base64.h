/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes out of a text, as JSON carries files. */
#ifndef DW_WEB_BASE64_H
#define DW_WEB_BASE64_H

#include <stdbool.h>
#include <stddef.h>

/* Base64 after RFC 4648, section 4, padded. *out is terminated, of length *n, and yours. false: it
 * is none, or there is no memory, then *n is 1. */
bool dw_base64__read(const char *text, char **out, size_t *n);

#endif
