/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of format: jobs and plans as files. */
#ifndef DW_FORMAT_H
#define DW_FORMAT_H

#include <dropwise/files.h>

#endif
