"""Runs a command on a terminal of 80 columns and tells what that terminal shows: both streams, in order."""

import fcntl
import os
import re
import select
import struct
import subprocess
import termios
import time


class TooSlow(Exception):
    pass


def run(command, folder, environment, seconds=120):
    """(what is shown, exit status) of a shell command or an argument list; its standard input is empty."""
    ours, theirs = os.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    settings = termios.tcgetattr(theirs)
    settings[1] &= ~termios.ONLCR  # a line feed stays a line feed
    termios.tcsetattr(theirs, termios.TCSANOW, settings)
    process = subprocess.Popen(command if isinstance(command, list) else ["sh", "-c", command], cwd=folder, env=environment,
                               stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs, start_new_session=True)
    os.close(theirs)
    received, deadline = b"", time.monotonic() + seconds
    try:
        while True:
            if not select.select([ours], [], [], max(0, deadline - time.monotonic()))[0]:
                raise TooSlow(f"still running after {seconds} s")
            try:
                piece = os.read(ours, 65536)
            except OSError:  # how Linux says that the other end is closed
                break
            if not piece:
                break
            received += piece
        status = process.wait(max(0.1, deadline - time.monotonic()))
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
        os.close(ours)
    return shown(received.decode("utf-8", "replace")), status if status >= 0 else 128 - status


def shown(stream):
    """What remains on the screen: a carriage return goes back to write over, ESC[K clears to the right, colours go."""
    stream = re.sub(r"\x1b\[[0-9;]*m", "", stream)
    if "\r" not in stream and "\x1b" not in stream:
        return stream
    lines = []
    for written in stream.split("\n"):
        cells, column = [], 0
        for piece in re.findall(r"\r|\x1b\[[0-2]?K|[^\r\x1b]+|\x1b", written):
            if piece == "\r":
                column = 0
            elif piece.startswith("\x1b["):
                cells = [] if piece == "\x1b[2K" else cells[:column]
            else:
                cells += [" "] * (column - len(cells))
                cells[column:column + len(piece)] = piece
                column += len(piece)
        lines.append("".join(cells).rstrip() if "\r" in written else "".join(cells))
    return "\n".join(lines)
