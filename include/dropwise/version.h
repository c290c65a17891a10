/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The version of the library, and the memory that its calls hand out.
 *
 * The macros tell what a program was compiled with, dw_version what it runs with. Names and structs
 * are kept from one version to the next while the number in libdropwise.so.N is the same.
 *
 * Threads: both functions may be called by any thread at any time. */
#ifndef DROPWISE_VERSION_H
#define DROPWISE_VERSION_H

#ifdef __cplusplus
extern "C" {
#endif

#define DW_VERSION_MAJOR 0
#define DW_VERSION_MINOR 1
#define DW_VERSION_PATCH 0
#define DW_VERSION       "0.1.0"
#define DW_VERSION_DATE  "2026-11-29" /* of this version */

/* 1.2.3 is 10203: to be compared in #if. */
#define DW_VERSION_NUMBER (DW_VERSION_MAJOR * 10000 + DW_VERSION_MINOR * 100 + DW_VERSION_PATCH)

/* "0.1.0", of the library that runs. Borrowed. */
const char *dw_version(void);

/* Frees a text or bytes that a call gave away as "yours": what was allocated in the library has to
 * be freed there, where program and library may use different allocators. NULL is fine. What has a
 * dw_..._free of its own is freed by that. */
void dw_free(void *memory);

#ifdef __cplusplus
}
#endif
#endif
