# SPDX-License-Identifier: GPL-3.0-or-later
"""What a real shell makes of a line and the tab key: types the line into an interactive bash or zsh on
a terminal of its own, presses tab twice, and waits until the screen shows what is wanted.
usage: complete.py bash|zsh COMPLETION LINE WANTED [UNWANTED]"""

import os
import pty
import re
import select
import sys
import time

SHELLS = {
    "bash": (["bash", "--norc", "--noprofile", "-i"], "bind 'set bell-style none'; . '{file}'"),
    "zsh": (["zsh", "-f", "-i"],
            "unsetopt beep zle_bracketed_paste; fpath=('{folder}' $fpath); autoload -Uz compinit; compinit -u -D"),
}


def screen(seen):
    text = re.sub(rb"\x1b\[[0-9;?]*[a-zA-Z]|\x1b[()=>][0-9A-B]?", b"", seen)
    return text.decode(errors="replace").replace("\r", "")


class Terminal:
    def __init__(self, command):
        self.seen = b""
        self.process, self.terminal = pty.fork()
        if self.process == 0:
            os.environ.update(TERM="xterm", PS1="READY> ", PROMPT="READY> ", HISTFILE="/dev/null", COLUMNS="200")
            os.execvp(command[0], command)

    def type(self, text):
        self.seen = b""
        os.write(self.terminal, text.encode())

    def wait(self, wanted, seconds=60):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if select.select([self.terminal], [], [], 0.2)[0]:
                try:
                    self.seen += os.read(self.terminal, 65536)
                except OSError:
                    return False
            elif wanted in screen(self.seen):
                return True
        return wanted in screen(self.seen)

    def end(self):
        os.kill(self.process, 9)
        os.waitpid(self.process, 0)


def main(shell, completion, line, wanted, unwanted=None):
    command, setup = SHELLS[shell]
    path = os.path.abspath(completion)
    terminal = Terminal(command)
    try:
        terminal.wait("READY>")
        terminal.type(setup.format(file=path, folder=os.path.dirname(path)) + "; echo set-'up'\n")
        if not terminal.wait("set-up"):
            sys.exit(f"{shell} does not begin: {screen(terminal.seen)}")
        terminal.type(line + "\t\t")
        if not terminal.wait(wanted):
            sys.exit(f"{shell}, {line}: {wanted} is not offered: {screen(terminal.seen)}")
        if unwanted and unwanted in screen(terminal.seen):
            sys.exit(f"{shell}, {line}: {unwanted} is offered: {screen(terminal.seen)}")
    finally:
        terminal.end()


main(*sys.argv[1:])
