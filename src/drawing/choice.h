/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which layers of a drawing are read, and as what: "rails=al38, axis=none". */
#ifndef DW_DRAWING_CHOICE_H
#define DW_DRAWING_CHOICE_H

#include "drawing/dxf.h"

/* Makes the layers that the choice names, before the drawing is read. DW_ERR_INPUT: it is not
 * written as it should be. */
dw_err dw_choice__read(struct dw_dxf *dxf);
/* A layer that it names and the drawing does not have is a mistake. */
dw_err dw_choice__check(struct dw_dxf *dxf);

#endif
