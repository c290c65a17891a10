/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a face keeps in the shelf file: jobs as they are written, plans with all that they were made
 * from, settings. */
#ifndef DW_JOB_STORE_H
#define DW_JOB_STORE_H

#include <dropwise/shelf.h>

#include <dropwise/document.h>

#define DW_STORE_JOB      "job"
#define DW_STORE_PLAN     "plan"
#define DW_STORE_HELD     "held" /* key: number of the held plan; body: key of its stored plan */
#define DW_STORE_SETTINGS "settings"
#define DW_STORE_SHOP     "shop" /* keys "file", "logo" (hexadecimal) */

#endif
