/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The choice among the readers of grids. */
#include "grid/part.h"

#include <string.h>

#define WORKBOOK_LIMIT ((size_t)16 << 20) /* bytes of a workbook's file */

bool dw_grid__is_workbook(const char *bytes, size_t n)
{
    return n >= 4 && memcmp(bytes, "PK\3\4", 4) == 0;
}

/* The container of old workbooks, and of new ones with a password. */
static bool is_old_workbook(const char *bytes, size_t n)
{
    return n >= 8 && memcmp(bytes, "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8) == 0;
}

static dw_err read_workbook(const char *bytes, size_t n, struct dw_grid_maker *maker)
{
    struct dw_zip *zip = NULL;
    if (n > WORKBOOK_LIMIT)
        return dw_maker__fail(maker, DW_ERR_LIMIT, "a workbook has at most %zu MiB",
                              WORKBOOK_LIMIT >> 20);
    maker->err = dw_zip__open(bytes, n, &zip, maker->error);
    if (maker->err)
        return maker->err;
    dw_err err = DW_OK;
    if (dw_zip__has(zip, "content.xml"))
        err = dw_ods__read(zip, maker);
    else if (dw_zip__has(zip, "xl/workbook.bin"))
        err = dw_maker__fail(maker, DW_ERR_INPUT,
                             "a binary workbook (.xlsb) can't be read; save it as .xlsx");
    else if (dw_zip__has(zip, "_rels/.rels"))
        err = dw_xlsx__read(zip, maker);
    else
        err = dw_maker__fail(maker, DW_ERR_INPUT, "this zip file is no workbook (.xlsx or .ods)");
    dw_zip__close(zip);
    if (err && !maker->err)
        maker->err = err;
    return maker->err;
}

dw_err dw_grid__read(struct dw_arena *arena, const char *bytes, size_t n, const char *name,
                     struct dw_grid **out, struct dw_error *error)
{
    struct dw_error own = {0};
    *out = NULL;
    struct dw_grid *grid = dw_arena__alloc(arena, 1, sizeof *grid);
    if (!grid)
        return dw_error__nomem(error);
    struct dw_grid_maker maker = {.arena = arena, .grid = grid, .error = error ? error : &own};
    if (is_old_workbook(bytes, n))
        dw_maker__fail(&maker, DW_ERR_INPUT,
                       "an old workbook (.xls), or one with a password; save it as .xlsx without "
                       "a password");
    else if (dw_grid__is_workbook(bytes, n)) {
        grid->workbook = true;
        read_workbook(bytes, n, &maker);
    } else {
        maker.err = dw_text__decode(arena, &bytes, &n, name, &grid->other, maker.error);
        if (!maker.err)
            maker.err = dw_separated__read(bytes, n, name, &maker);
    }
    dw_err err = dw_maker__end(&maker);
    if (!err)
        *out = grid;
    return err;
}
