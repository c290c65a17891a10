/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libzip's own types, for a browser. */
#ifndef _HAD_ZIPCONF_H
#define _HAD_ZIPCONF_H
#define LIBZIP_VERSION       "1.7.3"
#define LIBZIP_VERSION_MAJOR 1
#define LIBZIP_VERSION_MINOR 7
#define LIBZIP_VERSION_MICRO 3
#define ZIP_STATIC
#define _Nullable
#define _Nonnull
#include <stdint.h>
typedef int8_t zip_int8_t;
typedef uint8_t zip_uint8_t;
typedef int16_t zip_int16_t;
typedef uint16_t zip_uint16_t;
typedef int32_t zip_int32_t;
typedef uint32_t zip_uint32_t;
typedef int64_t zip_int64_t;
typedef uint64_t zip_uint64_t;
#define ZIP_INT8_MIN   INT8_MIN
#define ZIP_INT8_MAX   INT8_MAX
#define ZIP_UINT8_MAX  UINT8_MAX
#define ZIP_INT16_MIN  INT16_MIN
#define ZIP_INT16_MAX  INT16_MAX
#define ZIP_UINT16_MAX UINT16_MAX
#define ZIP_INT32_MIN  INT32_MIN
#define ZIP_INT32_MAX  INT32_MAX
#define ZIP_UINT32_MAX UINT32_MAX
#define ZIP_INT64_MIN  INT64_MIN
#define ZIP_INT64_MAX  INT64_MAX
#define ZIP_UINT64_MAX UINT64_MAX
#endif
