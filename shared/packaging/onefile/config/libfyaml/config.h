/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What libfyaml asks of its platform, for a browser. */
#ifndef CONFIG_H
#define CONFIG_H
#define VERSION      "0.7.12"
#define HAVE_QSORT_R 0
#endif
