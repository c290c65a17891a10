/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Base64 (RFC 4648), read strictly: nothing but its letters, padded, no bits left over. */
#include "web/base64.h"

#include <stdlib.h>
#include <string.h>

/* 0..63; 64 = none of the letters. */
static unsigned value_of(char c)
{
    if (c >= 'A' && c <= 'Z')
        return (unsigned)(c - 'A');
    if (c >= 'a' && c <= 'z')
        return (unsigned)(c - 'a') + 26;
    if (c >= '0' && c <= '9')
        return (unsigned)(c - '0') + 52;
    return c == '+' ? 62 : c == '/' ? 63 : 64;
}

bool dw_base64__read(const char *text, char **out, size_t *n)
{
    size_t length = strlen(text), used = 0;
    size_t padding = length > 1 && text[length - 1] == '=' ? 1 + (text[length - 2] == '=') : 0;
    *n = 0;
    *out = NULL;
    if (length % 4)
        return false;
    char *bytes = malloc(length / 4 * 3 + 1);
    unsigned held = 0, bits = 0;
    bool good = bytes != NULL;
    for (size_t i = 0; good && i < length - padding; i++) {
        unsigned value = value_of(text[i]);
        good = value < 64;
        held = (held << 6 | value) & 0xFFFF;
        bits += 6;
        if (bits >= 8) {
            bits -= 8;
            bytes[used++] = (char)(held >> bits & 0xFF);
        }
    }
    good = good && (held & ((1U << bits) - 1)) == 0;
    if (!good) {
        *n = bytes == NULL;
        free(bytes);
        return false;
    }
    bytes[used] = '\0';
    *out = bytes;
    *n = used;
    return true;
}
