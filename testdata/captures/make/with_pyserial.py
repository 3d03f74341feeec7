"""Writes the captures of what Python's serial module sends: a second implementation at the gauge's end of the line. It opens
a pseudo-terminal as a gauge would, writes frames, and keeps what comes out of the other end with its timing. Run it in the
folder of the captures; it needs the module (Debian: python3-serial), the tests do not."""

import os
import platform
import sys
import termios
import threading
import time
import tty

import serial

import make
from make import C, G, N, S

MADE = "written by Python's serial module %s (Python %s, %s) through a pseudo-terminal; readings stated by hand" % (
    serial.__version__, platform.python_version(), platform.system())


def record(name, gauge, decoder, words, shows, script, **setting):
    """script: (seconds to wait, bytes to write, events). Events end at the last byte of what was written."""
    master, slave = os.openpty()
    tty.setraw(master, termios.TCSANOW)
    came, began = [], time.monotonic()

    def read():
        while True:
            try:
                data = os.read(master, 4096)
            except OSError:
                return
            if data == b"\xff\xff\xffend":
                return
            came.append((round((time.monotonic() - began) * 1000, 3), data))

    reader = threading.Thread(target=read)
    reader.start()
    with serial.Serial(os.ttyname(slave), **setting) as port:
        os.close(slave)
        ends = []
        for wait, data, events in script:
            time.sleep(wait)
            port.write(data)
            port.flush()
            time.sleep(0.003)  # so that the reader has it before the next
            ends.append((came[-1][0], events))
        time.sleep(0.02)
        port.write(b"\xff\xff\xffend")
        reader.join()
    os.close(master)
    assert b"".join(d for _, d in came) == b"".join(d for _, d, _ in script)
    first = came[0][0]
    shift = lambda at: float(make.plain(round(at - first, 3)))
    tidy = lambda at: int(shift(at)) if shift(at) == int(shift(at)) else shift(at)
    pieces = [(tidy(at), data, []) for at, data in came]
    pieces += [(tidy(at), b"", events) for at, events in ends]
    make.write(name, gauge, decoder, words, shows, pieces, MADE)


record("other-side-lines", "height gauge played by another program", make.UNIT, make.L9600, "frames whole, in halves, byte by byte, two at once, one cut", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (0.25, b"-0.0120in\r\n", [N("-0.0120", "in")]), (0.05, b"+1.9", []), (0.02, b"51mm\r\n", [N("1.951")]),
    (0.05, b"+1.952mm\r\n+1.953mm\r\n", [N("1.952"), N("1.953")]),
    *[(0.004, bytes([b]), [N("-12.345")] if i == 10 else []) for i, b in enumerate(b"-12.345mm\r\n")],
    (0.05, b"1.954mm\r\n", [G(b"1.954mm")]), (0.05, b"+1.955mm", [C(b"+1.955mm")])],
    baudrate=9600, bytesize=8, parity="N", stopbits=1)
record("other-side-checksum", "length probe played by another program", make.XOR, make.L19200, "frames with their checksum, back to back, one with another's sum", [
    (0, b"".join(make.xor("%+.3fmm" % (i / 100)) for i in range(-5, 6)), [N("%.3f" % (i / 100)) for i in range(-5, 6)]),
    (0.03, make.xor("+1.950mm").replace(b"950", b"951"), [G(make.xor("+1.950mm").replace(b"950", b"951")[:-1])]),
    (0.03, make.xor("+1.952mmB"), [S("low battery")])],
    baudrate=19200, bytesize=8, parity="N", stopbits=1)
record("other-side-registers", "length probe with registers played by another program", make.REGISTERS, make.LMODBUS, "answers and a refusal, some in two pieces", [
    (0, make.answer(1950), [N("1.95")]), (0.1, make.rtu(1, 0x84, 2), [S("refused with exception 2")]), (0.1, make.answer(-7)[:4], []),
    (0.03, make.answer(-7)[4:], [N("-0.007")]), (0.1, make.answer(123456), [N("123.456")])],
    baudrate=19200, bytesize=8, parity="E", stopbits=1)
sys.exit(0)
