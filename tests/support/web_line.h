/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A client of HTTP/1.1 as plain as can be: bytes out, bytes in. */
#ifndef WEB_LINE_H
#define WEB_LINE_H

#include <stddef.h>
#include <stdint.h>

/* A connection to the port of the loopback address; -1 if it can't be had. */
int web_line_open(uint16_t port);
/* Sends all bytes; false when the other side has hung up. */
_Bool web_line_send(int fd, const void *bytes, size_t n);
/* Reads until the reply is whole (by its Content-Length), the other side hangs up, or `ms` have
 * passed. Terminated; the number of bytes. */
size_t web_line_read(int fd, char *out, size_t room, int ms);
/* Sends one request on a connection of its own and returns the status, 0 for none. The rest of the
 * reply is in `out`. */
int web_line_ask(uint16_t port, const char *request, size_t n, char *out, size_t room);
void web_line_close(int fd);

#endif
