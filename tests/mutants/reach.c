/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tells which places of a program were reached: gcc's -fsanitize-coverage=trace-pc calls this at
 * the begin of every basic block. With REACH set, the block at offset n of the program makes byte n
 * of the file $REACH/<name of the program> a 1; what is started later adds to it. GNU/Linux. */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

extern char __executable_start, etext; /* by the linker */

static char *reached; /* length: the program's code, from its begin */

void __sanitizer_cov_trace_pc(void);

__attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_pc(void)
{
    if (reached)
        reached[(char *)__builtin_return_address(0) - &__executable_start] = 1;
}

__attribute__((constructor, no_sanitize_coverage)) static void begin(void)
{
    const char *folder = getenv("REACH");
    char path[4096];
    if (!folder)
        return;
    size_t n = (size_t)(&etext - &__executable_start);
    snprintf(path, sizeof path, "%s/%s", folder, program_invocation_short_name);
    int file = open(path, O_RDWR | O_CREAT, 0600);
    void *map = MAP_FAILED;
    if (file >= 0 && ftruncate(file, (off_t)n) == 0)
        map = mmap(NULL, n, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    if (map == MAP_FAILED)
        abort(); /* rather than to tell too little */
    reached = map;
    close(file);
}
