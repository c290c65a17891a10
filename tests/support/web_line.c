/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web_line.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <unistd.h>

int web_line_open(uint16_t port)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd >= 0 && connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        close(fd);
        fd = -1;
    }
    return fd;
}

bool web_line_send(int fd, const void *bytes, size_t n)
{
    for (size_t sent = 0; sent < n;) {
        ssize_t now = send(fd, (const char *)bytes + sent, n - sent, MSG_NOSIGNAL);
        if (now <= 0)
            return false;
        sent += (size_t)now;
    }
    return true;
}

/* Bytes that the reply in text[0..n) has in all; 0 = not known yet. */
static size_t whole(const char *text)
{
    const char *end = strstr(text, "\r\n\r\n");
    if (!end)
        return 0;
    size_t length = 0;
    for (const char *line = text; line && line < end; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncasecmp(line, "Content-Length:", 15) == 0)
            length = strtoul(line + 15, NULL, 10);
    }
    return (size_t)(end - text) + 4 + length;
}

size_t web_line_read(int fd, char *out, size_t room, int ms)
{
    size_t n = 0;
    out[0] = '\0';
    while (n + 1 < room) {
        struct pollfd ready = {.fd = fd, .events = POLLIN};
        if (poll(&ready, 1, ms) <= 0)
            break;
        ssize_t now = recv(fd, out + n, room - 1 - n, 0);
        if (now <= 0)
            break;
        n += (size_t)now;
        out[n] = '\0';
        size_t all = whole(out);
        if (all > 0 && n >= all)
            break;
    }
    return n;
}

int web_line_ask(uint16_t port, const char *request, size_t n, char *out, size_t room)
{
    int fd = web_line_open(port);
    if (fd < 0)
        return 0;
    web_line_send(fd, request, n); /* a reply may come before all is sent */
    web_line_read(fd, out, room, 3000);
    web_line_close(fd);
    return strncmp(out, "HTTP/1.1 ", 9) == 0 ? atoi(out + 9) : 0;
}

void web_line_close(int fd)
{
    if (fd >= 0)
        close(fd);
}
