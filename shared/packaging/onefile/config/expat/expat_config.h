/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What Expat asks of its platform, for a browser. */
#ifndef EXPAT_CONFIG_H
#define EXPAT_CONFIG_H
#define BYTEORDER         1234
#define XML_DEV_URANDOM   1
#define HAVE_UNISTD_H     1
#define XML_CONTEXT_BYTES 1024
#define XML_DTD           1
#define XML_NS            1
#endif
