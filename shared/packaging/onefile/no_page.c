/* SPDX-License-Identifier: GPL-3.0-or-later */
/* In dropwise.html the application serves no files: they are in the document. */
#include "web/app.h"

const struct dw_web_asset dw_web__assets[1];
const size_t dw_web__n_assets = 0;
