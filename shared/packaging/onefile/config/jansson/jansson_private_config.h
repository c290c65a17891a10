/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What Jansson finds on its platform, for a browser: nothing beyond the standard library. */
#define HAVE_STDINT_H 1
#define HAVE_UNISTD_H 1
