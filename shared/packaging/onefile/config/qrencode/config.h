/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What libqrencode asks of its platform, for a browser. */
#ifndef CONFIG_H
#define CONFIG_H
#define MAJOR_VERSION     4
#define MINOR_VERSION     1
#define MICRO_VERSION     1
#define VERSION           "4.1.1"
#define STATIC_IN_RELEASE static
#define HAVE_STRDUP       1
#endif
