/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The version of the library, and the memory that its calls hand out. */
#include <dropwise/version.h>

#include <stdlib.h>

const char *dw_version(void)
{
    return DW_VERSION;
}

void dw_free(void *memory)
{
    free(memory);
}
