/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise serve: the page for the shop. */
#include "cli/shelf/shelf.h"
#include "web/web.h"

#include <arpa/inet.h>
#include <errno.h>
#include <ifaddrs.h>
#include <netinet/in.h>
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#define USUAL_PORT      7410
#define PASSPHRASE_MOST 200

/* --- what the server may not take by itself --------------------------------------------------- */

static int64_t hook_now(void *user)
{
    (void)user;
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void hook_when(void *user, char out[DW_WEB_WHEN])
{
    (void)user;
    time_t now = time(NULL);
    struct tm utc = {0};
    gmtime_r(&now, &utc);
    strftime(out, DW_WEB_WHEN, "%Y-%m-%dT%H:%M:%SZ", &utc);
}

static bool hook_random(void *user, unsigned char *out, size_t n)
{
    (void)user;
    return getrandom(out, n, 0) == (ssize_t)n;
}

/* --- the local network ------------------------------------------------------------------------ */

/* The first IPv4 address that is not the loopback one. */
static bool find_address(char out[INET_ADDRSTRLEN])
{
    struct ifaddrs *list = NULL;
    bool found = false;
    if (getifaddrs(&list) != 0)
        return false;
    for (const struct ifaddrs *at = list; at && !found; at = at->ifa_next) {
        if (!at->ifa_addr || at->ifa_addr->sa_family != AF_INET)
            continue;
        struct sockaddr_in address;
        memcpy(&address, at->ifa_addr, sizeof address);
        found = ntohl(address.sin_addr.s_addr) >> 24 != 127 &&
                inet_ntop(AF_INET, &address.sin_addr, out, INET_ADDRSTRLEN) != NULL;
    }
    freeifaddrs(list);
    return found;
}

/* Sixteen letters and digits that can't be taken for one another: 78 random bits. */
static bool make_passphrase(char out[PASSPHRASE_MOST])
{
    static const char letters[] = "abcdefghjkmnpqrstuvwxyz23456789";
    const size_t n_letters = sizeof letters - 1;
    size_t n = 0;
    while (n < 19) {
        unsigned char byte = 0;
        if (n % 5 == 4) {
            out[n++] = '-';
            continue;
        }
        if (!hook_random(NULL, &byte, 1))
            return false;
        if (byte < 256 / n_letters * n_letters)
            out[n++] = letters[byte % n_letters];
    }
    out[n] = '\0';
    return true;
}

/* The first line of a file. */
static bool read_passphrase(const char *path, char out[PASSPHRASE_MOST])
{
    struct dw_error error = {0};
    char *text = NULL;
    size_t n = 0;
    if (dw_file__read(path, 65536, &text, &n, &error) != DW_OK) {
        dw_cli__say_error(&error);
        return false;
    }
    size_t length = strcspn(text, "\r\n");
    bool fits = length < PASSPHRASE_MOST;
    if (fits) {
        memcpy(out, text, length);
        out[length] = '\0';
    } else {
        dw_cli__complain("%s: a passphrase has at most %d characters", path, PASSPHRASE_MOST - 1);
    }
    free(text);
    return fits;
}

/* --- serving ---------------------------------------------------------------------------------- */

struct serving {
    struct dw_cli_shelf shelf;
    char address[INET_ADDRSTRLEN];
    char passphrase[PASSPHRASE_MOST];
    bool made; /* the passphrase was made here: it must be shown */
    struct dw_web_options options;
};

static enum dw_cli_status ready_lan(struct serving *serving)
{
    const struct dw_cli_args *args = serving->shelf.args;
    const char *file = dw_cli__value(args, "passphrase-file");
    if (!dw_cli__has(args, "lan")) {
        if (file)
            dw_cli__complain("--passphrase-file goes with --lan");
        return file ? DW_CLI_REFUSED : DW_CLI_DONE;
    }
    if (!find_address(serving->address)) {
        dw_cli__complain("--lan: this computer is in no network now");
        return DW_CLI_FAILED;
    }
    if (file && !read_passphrase(file, serving->passphrase))
        return DW_CLI_REFUSED;
    serving->made = !file;
    if (!file && !make_passphrase(serving->passphrase)) {
        dw_cli__complain("this computer gives no random numbers");
        return DW_CLI_FAILED;
    }
    serving->options.lan = serving->address;
    serving->options.passphrase = serving->passphrase;
    return DW_CLI_DONE;
}

/* Said on standard output: the address first, so that a program can read it. */
static enum dw_cli_status say_address(const struct serving *serving, uint16_t port)
{
    struct dw_buf text = {0};
    char *code = NULL;
    const char *host = serving->options.lan ? serving->options.lan : "127.0.0.1";
    dw_buf__format(&text, "http://%s:%u/\n", host, (unsigned)port);
    if (serving->options.lan) {
        char link[INET_ADDRSTRLEN + PASSPHRASE_MOST + 32];
        snprintf(link, sizeof link, "http://%s:%u/%s%s", host, (unsigned)port,
                 serving->made ? "#key=" : "", serving->made ? serving->passphrase : "");
        if (dw_web__code(link, &code, NULL) == DW_OK)
            dw_buf__format(&text, "\n%s\n", code);
        if (serving->made)
            dw_buf__format(&text, "Passphrase: %s\n", serving->passphrase);
        dw_buf__put(&text, "Whoever is in this network and can listen in can read what is sent: "
                           "use it in a network that you trust.\n");
    }
    dw_buf__put(&text, "Ctrl-C ends it.\n");
    free(code);
    char *all = dw_buf__take(&text);
    enum dw_cli_status status = all ? dw_cli__write(all, strlen(all)) : DW_CLI_FAILED;
    free(all);
    return status;
}

/* Tells a service manager that the page can be opened now (sd_notify(3)): one datagram to the
 * socket that NOTIFY_SOCKET names. A name that begins with @ is abstract. */
static void tell_manager(void)
{
    const char *name = getenv("NOTIFY_SOCKET");
    struct sockaddr_un to = {.sun_family = AF_UNIX};
    size_t n = name ? strlen(name) : 0;
    if (n == 0 || n >= sizeof to.sun_path)
        return;
    memcpy(to.sun_path, name, n);
    if (name[0] == '@')
        to.sun_path[0] = '\0';
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (fd < 0)
        return;
    socklen_t length = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + n);
    (void)!sendto(fd, "READY=1", 7, 0, (const struct sockaddr *)&to, length);
    close(fd);
}

static void wait_for_end(const sigset_t *signals)
{
    int number = 0;
    while (sigwait(signals, &number) != 0 && errno == EINTR)
        ;
}

static enum dw_cli_status start(struct serving *serving, struct dw_web **web)
{
    struct dw_error error = {0};
    dw_err err = dw_web__start(&serving->options, web, &error);
    bool usual = !dw_cli__has(serving->shelf.args, "port");
    if (err == DW_ERR_BUSY && usual) { /* any port will do then */
        error = (struct dw_error){0};
        serving->options.port = 0;
        err = dw_web__start(&serving->options, web, &error);
    }
    return dw_cli__shelf_said(err, &error);
}

static enum dw_cli_status serve(struct serving *serving)
{
    struct dw_web *web = NULL;
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGINT);
    sigaddset(&signals, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &signals, NULL); /* before the server's threads inherit it */
    enum dw_cli_status status = start(serving, &web);
    if (status == DW_CLI_DONE)
        status = say_address(serving, dw_web__port(web));
    if (status == DW_CLI_DONE) {
        tell_manager();
        wait_for_end(&signals);
    }
    dw_web__stop(web);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct serving serving = {.shelf = {.args = args}};
    int64_t port = USUAL_PORT;
    const char *text = dw_cli__value(args, "port");
    if (text && !dw_cli__number("port", text, 0, 65535, &port))
        return DW_CLI_REFUSED;
    serving.options = (struct dw_web_options){
        .port = (uint16_t)port,
        .hooks = {.now_ms = hook_now, .when = hook_when, .random = hook_random},
    };
    enum dw_cli_status status = ready_lan(&serving); /* first: a refusal makes no file */
    if (status == DW_CLI_DONE)
        status = dw_cli__shelf_open(args, DW_LEDGER_CREATE, &serving.shelf);
    serving.options.shelf = serving.shelf.path;
    if (status == DW_CLI_DONE)
        status = serve(&serving);
    dw_cli__shelf_close(&serving.shelf);
    return status;
}

static const struct dw_cli_option options[] = {
    {"port", 0, "N", NULL, "the port to listen on; 0 = any; otherwise 7410, or any if it is taken"},
    DW_CLI_SHELF_OPTION,
    {"lan", 0, NULL, NULL, "let phones and tablets of the local network in, with a passphrase"},
    {"passphrase-file", 0, "FILE", NULL,
     "with --lan: its first line is the passphrase; otherwise one is made and shown"},
};

const struct dw_cli_command dw_cli__cmd_serve = {
    .name = "serve",
    .operands = "",
    .summary = "serve the page for the shop to a browser",
    .about =
        "Prints the address of a page for a browser on this computer: cut lists pasted from a "
        "spreadsheet, plans, papers, the shelf, and bars ticked off at the saw. It needs no "
        "connection to the internet and sends nothing there. Jobs and plans are kept in the "
        "shelf's file.\n\n"
        "Only this computer can reach it, unless --lan lets the local network in. The page then "
        "asks for a passphrase; a phone that scans the code on the screen is let in at once. What "
        "is sent is not encrypted.",
    .least = 0,
    .most = 0,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
