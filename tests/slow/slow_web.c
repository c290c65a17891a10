/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 10 000 rapid requests, malformed and huge ones, and clients that trickle, against a server in a
 * process of its own. Its clock runs, as the time-outs need it. */
#include "web_line.h"
#include "web_shop.h"

#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define THREADS   8
#define ROUNDS    1250 /* requests of each thread: 10 000 in all */
#define TRICKLERS 40
#define GROWTH_KB 8192 /* memory that caches may take between the first round and the last */

static uint16_t port;

static int64_t now_ms(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Resident memory of a process in KB, from /proc; 0 if it is gone. */
static long memory_kb(pid_t pid)
{
    char path[64], line[256];
    long kb = 0;
    snprintf(path, sizeof path, "/proc/%ld/status", (long)pid);
    FILE *file = fopen(path, "r");
    while (file && fgets(line, sizeof line, file))
        if (sscanf(line, "VmRSS: %ld", &kb) == 1)
            break;
    if (file)
        fclose(file);
    return kb;
}

/* --- kinds of load ---------------------------------------------------------------------------- */

/* A page, a view of the interface, and what is refused, each on a connection of its own. */
static void *ask_rapidly(void *user)
{
    static const char *const paths[] = {"/", "/app.js", "/api/session", "/api/plans", "/nothing"};
    static const int statuses[] = {200, 200, 200, 401, 404};
    int *n_wrong = user;
    char *reply = malloc(1 << 17), request[256];
    for (int i = 0; reply && i < ROUNDS; i++) {
        int n = snprintf(request, sizeof request,
                         "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n\r\n",
                         paths[i % 5], (unsigned)port);
        *n_wrong += web_line_ask(port, request, (size_t)n, reply, 1 << 17) != statuses[i % 5];
    }
    free(reply);
    return NULL;
}

static int rapid(void)
{
    pthread_t threads[THREADS];
    int wrong[THREADS] = {0}, sum = 0;
    for (size_t i = 0; i < THREADS; i++)
        pthread_create(&threads[i], NULL, ask_rapidly, &wrong[i]);
    for (size_t i = 0; i < THREADS; i++) {
        pthread_join(threads[i], NULL);
        sum += wrong[i];
    }
    return sum;
}

/* Bytes of no protocol, by a generator of our own (Knuth's MMIX constants). */
static void malformed(int count)
{
    uint64_t seed = 20261125;
    char bytes[2048], reply[4096];
    for (int i = 0; i < count; i++) {
        size_t n = 1 + (size_t)(seed >> 40) % sizeof bytes;
        for (size_t k = 0; k < n; k++) {
            seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            bytes[k] = (char)(seed >> 56);
        }
        if (i % 3 == 0)
            memcpy(bytes, "GET / HTTP/1.1\r\n", n < 16 ? n : 16);
        int fd = web_line_open(port);
        web_line_send(fd, bytes, n);
        web_line_read(fd, reply, sizeof reply, 2);
        web_line_close(fd);
    }
}

static void huge(int count)
{
    static char block[1 << 16];
    char reply[4096], head[256];
    memset(block, '[', sizeof block);
    for (int i = 0; i < count; i++) {
        int fd = web_line_open(port);
        int n = snprintf(head, sizeof head,
                         "POST /api/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Type: "
                         "application/json\r\nContent-Length: %d\r\n\r\n",
                         (unsigned)port, 32 * (int)sizeof block);
        bool open = web_line_send(fd, head, (size_t)n);
        for (int k = 0; open && k < 32; k++)
            open = web_line_send(fd, block, sizeof block);
        web_line_read(fd, reply, sizeof reply, 2000);
        web_line_close(fd);
    }
}

/* Sends a letter a second on each line until the server hangs up; how long the last one lived. */
static int64_t trickle(int *n_served)
{
    int fds[TRICKLERS];
    int64_t began = now_ms();
    size_t left = TRICKLERS;
    char reply[1 << 14], request[128];
    int n = snprintf(request, sizeof request,
                     "GET /nothing HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n\r\n",
                     (unsigned)port);
    for (size_t i = 0; i < TRICKLERS; i++) {
        fds[i] = web_line_open(port);
        web_line_send(fds[i], "GET / HTTP/1.1\r\nX-Slow: ", 24);
    }
    while (left > 0 && now_ms() - began < 60000) {
        nanosleep(&(struct timespec){.tv_sec = 1}, NULL);
        *n_served += web_line_ask(port, request, (size_t)n, reply, sizeof reply) == 404;
        for (size_t i = 0; i < TRICKLERS; i++) {
            if (fds[i] < 0 || web_line_send(fds[i], "a", 1))
                continue;
            web_line_close(fds[i]);
            fds[i] = -1;
            left--;
        }
    }
    for (size_t i = 0; i < TRICKLERS; i++)
        web_line_close(fds[i]);
    return left ? -1 : now_ms() - began;
}

/* --- the whole -------------------------------------------------------------------------------- */

static int load(pid_t server)
{
    int wrong = rapid(), served = 0;
    malformed(300);
    huge(5);
    long first = memory_kb(server);
    int64_t began = now_ms();
    wrong += rapid();
    int64_t took = now_ms() - began;
    malformed(2000);
    huge(30);
    int64_t lived = trickle(&served);
    wrong += rapid();
    long last = memory_kb(server);
    printf("10 000 requests in %lld ms, %d wrong; slow clients cut off after %lld ms while %d "
           "requests were served; memory %ld KB, then %ld KB\n",
           (long long)took, wrong, (long long)lived, served, first, last);
    bool good = wrong == 0 && lived > 0 && lived < 45000 && served >= 25 && last > 0 &&
                last - first < GROWTH_KB;
    return good ? 0 : 1;
}

static int64_t hook_now(void *user)
{
    (void)user;
    return now_ms();
}

static int serve_alone(int ready)
{
    struct web_shop shop;
    struct dw_web *web = NULL;
    web_shop_ready(&shop);
    shop.options.hooks.now_ms = hook_now;
    sigset_t signals;
    int number = 0;
    sigemptyset(&signals);
    sigaddset(&signals, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &signals, NULL);
    if (dw_web__start(&shop.options, &web, NULL) != DW_OK)
        return 1;
    port = dw_web__port(web);
    if (write(ready, &port, sizeof port) != (ssize_t)sizeof port)
        return 1;
    sigwait(&signals, &number);
    dw_web__stop(web);
    web_shop_close(&shop);
    return 0;
}

int main(void)
{
    int ready[2], status = 0;
    if (pipe(ready) != 0)
        return 1;
    pid_t server = fork();
    if (server == 0)
        return serve_alone(ready[1]);
    if (server < 0 || read(ready[0], &port, sizeof port) != (ssize_t)sizeof port)
        return 1;
    int failed = load(server);
    kill(server, SIGTERM);
    waitpid(server, &status, 0);
    return failed || !WIFEXITED(status) || WEXITSTATUS(status) != 0;
}
