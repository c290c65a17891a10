# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes random jobs of the walk as job files. usage: jobs.py FOLDER FIRST LAST"""

import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "walk"))
import make_job
import write_job

folder, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
for seed in range(first, last + 1):
    with open(os.path.join(folder, f"{seed}.yaml"), "w", encoding="utf-8") as file:
        file.write(write_job.write(make_job.make(seed)))
