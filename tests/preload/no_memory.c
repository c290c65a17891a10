/* SPDX-License-Identifier: GPL-3.0-or-later */
/* To be preloaded: the allocation number FAIL_AT of the whole process, its libraries and children
 * included, fails, with FAIL_ON set every later one too, with FAIL_EVERY=n each n-th from there to
 * FAIL_UNTIL. Counted from the begin of main, from
 * 1. The number of allocations is written to the file FAIL_TELL. GNU C library.
 *
 * One caller is spared: fy_input_create of libfyaml 0.7.12, whose caller follows its null pointer.
 * src/format/yaml.c sees to room for it beforehand, which helps where memory is short, but not
 * against this. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);
extern void *__libc_memalign(size_t alignment, size_t size);

typedef int main_function(int, char **, char **);
typedef int start_function(main_function *, int, char **, main_function *, void (*)(void),
                           void (*)(void), void *);

static main_function *own_main;
static atomic_long *count; /* shared with children */
static long fail_at;
static bool fail_on;
static long fail_every, fail_until;
static atomic_bool counting;

static bool is_spared(void)
{
    static _Thread_local bool inside;
    void *frames[8];
    bool spared = false;
    if (inside)
        return true;
    inside = true;
    int n = backtrace(frames, 8);
    for (int i = 0; i < n && !spared; i++) {
        Dl_info of;
        spared = dladdr(frames[i], &of) && of.dli_sname && !strcmp(of.dli_sname, "fy_input_create");
    }
    inside = false;
    return spared;
}

static bool fails(void)
{
    if (!atomic_load(&counting))
        return false;
    long k = atomic_fetch_add(count, 1) + 1;
    bool later = fail_on || (fail_every > 0 && k < fail_until && (k - fail_at) % fail_every == 0);
    bool chosen = fail_at > 0 && (k == fail_at || (later && k > fail_at));
    if (!chosen || is_spared())
        return false;
    errno = ENOMEM;
    return true;
}

void *malloc(size_t size)
{
    return fails() ? NULL : __libc_malloc(size);
}

void *calloc(size_t n, size_t size)
{
    return fails() ? NULL : __libc_calloc(n, size);
}

void *realloc(void *old, size_t size)
{
    return fails() ? NULL : __libc_realloc(old, size);
}

void *aligned_alloc(size_t alignment, size_t size)
{
    return fails() ? NULL : __libc_memalign(alignment, size);
}

int posix_memalign(void **out, size_t alignment, size_t size)
{
    if (fails() || !(*out = __libc_memalign(alignment, size)))
        return ENOMEM;
    return 0;
}

static int counted_main(int n, char **arguments, char **environment)
{
    const char *at = getenv("FAIL_AT"), *tell = getenv("FAIL_TELL");
    void *first[1];
    backtrace(first, 1); /* it allocates when it is first called */
    fail_at = at ? atol(at) : 0;
    fail_on = getenv("FAIL_ON") != NULL;
    fail_every = getenv("FAIL_EVERY") ? atol(getenv("FAIL_EVERY")) : 0;
    fail_until = getenv("FAIL_UNTIL") ? atol(getenv("FAIL_UNTIL")) : 0;
    count = mmap(NULL, sizeof *count, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (count == MAP_FAILED)
        return 99;
    atomic_store(&counting, true);
    int status = own_main(n, arguments, environment);
    atomic_store(&counting, false);
    FILE *file = tell ? fopen(tell, "w") : NULL;
    if (file) {
        fprintf(file, "%ld\n", atomic_load(count));
        fclose(file);
    }
    return status;
}

int __libc_start_main(main_function *main, int n, char **arguments, main_function *init,
                      void (*fini)(void), void (*loader_fini)(void), void *stack_end);
int __libc_start_main(main_function *main, int n, char **arguments, main_function *init,
                      void (*fini)(void), void (*loader_fini)(void), void *stack_end)
{
    start_function *next = NULL;
    *(void **)&next = dlsym(RTLD_NEXT, "__libc_start_main");
    own_main = main;
    return next(counted_main, n, arguments, init, fini, loader_fini, stack_end);
}
