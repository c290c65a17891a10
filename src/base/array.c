/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arrays that grow. */
#include "base/base.h"

#include <stdlib.h>
#include <string.h>

bool dw_array__grow(void *array, size_t *capacity, size_t need, size_t size)
{
    if (need <= *capacity)
        return true;
    size_t more = *capacity < 8 ? 8 : *capacity + *capacity / 2;
    if (more < need)
        more = need;
    if (more > SIZE_MAX / size)
        return false;
    void *old;
    memcpy(&old, array, sizeof old);
    void *grown = realloc(old, more * size);
    if (!grown)
        return false;
    memcpy(array, &grown, sizeof grown);
    *capacity = more;
    /* cppcheck-suppress memleak ; *array holds it */
    return true;
}
