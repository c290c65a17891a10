/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several processes at work on one shelf at a time. */
#ifndef TESTS_SUPPORT_CROWD_H
#define TESTS_SUPPORT_CROWD_H

/* Lets so many processes do random steps for so many seconds, then checks the shelf: in order, no
 * process saw anything but success, "busy", "held by", or that a thing was gone meanwhile. Fails
 * the test otherwise. Prints how many steps were done. */
void crowd_run(int n_processes, int seconds);

#endif
