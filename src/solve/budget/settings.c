/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Defaults of the settings, and their ranges. */
#include "base/base.h"

#include <dropwise/solve.h>

#include <inttypes.h>

void dw_settings_default(struct dw_settings *settings)
{
#define SET_DEFAULT(type, name, def, least, most, help) settings->name = (def);
    DW_SETTING_LIST(SET_DEFAULT)
#undef SET_DEFAULT
}

static dw_err check_one(const char *name, int64_t value, int64_t least, int64_t most,
                        struct dw_error *error)
{
    if (value >= least && value <= most)
        return DW_OK;
    return dw_error__set(error, DW_ERR_RANGE,
                         "setting %s is %" PRId64 ": it goes from %" PRId64 " to %" PRId64, name,
                         value, least, most);
}

dw_err dw_settings_check(const struct dw_settings *settings, struct dw_error *error)
{
    dw_err code = DW_OK;
#define CHECK_ONE(type, name, def, least, most, help)                                              \
    if (code == DW_OK)                                                                             \
        code = check_one(#name, settings->name, (least), (most), error);
    DW_SETTING_LIST(CHECK_ONE)
#undef CHECK_ONE
    return code;
}
