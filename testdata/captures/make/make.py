"""Writes captures and their expected readings from the lists in this file. What each frame says is stated here by hand,
from the format's definition; nothing of the program is used. Run it in the folder of the captures.

A capture is (file name, gauge, decoder, line, shows, pieces). A piece is (milliseconds, bytes, what comes of it): a list
of events that end at that piece, or at the time given with them. CRCs are computed by long division, garbled bytes by
sampling the line's bits."""

import json
import struct
from decimal import Decimal

MADE = "written by make.py from frames and readings stated by hand, after common habits of gauges, no source"
STANDARD = "written by make.py from frames and readings stated by hand after the open standard, CRCs by long division"
L9600 = "9600 baud, 8 data bits, no parity, 1 stop bit"


def crc(data):
    """CRC-16 of MODBUS over Serial Line V1.02, 6.2.2: the remainder of reflected bits divided by 18005."""
    bits = [byte >> i & 1 for byte in data for i in range(8)] + [0] * 16
    for i in range(16):
        bits[i] ^= 1
    divisor = [1, 1] + [0] * 12 + [1, 0, 1]  # x^16 + x^15 + x^2 + 1
    for i in range(len(bits) - 16):
        if bits[i]:
            for j in range(17):
                bits[i + j] ^= divisor[j]
    rest = bits[-16:]
    return sum(rest[i] << i for i in range(16))


def rtu(*data):
    b = bytes(data)
    return b + struct.pack("<H", crc(b))


def answer(number, unit=1, function=4):
    return rtu(unit, function, 4, *struct.pack(">i", number))


def floats(number):
    high, low = struct.unpack(">2H", struct.pack(">f", number))
    return rtu(17, 3, 4, *struct.pack(">2H", low, high))


def xor(text):
    x = 0
    for c in text:
        x ^= ord(c)
    return b"\x02" + text.encode() + b"%02X" % x + b"\x03"


def crcline(text):
    return text.encode() + b"%04X\n" % crc(text.encode())


def faster(data, times):
    """What a receiver at `times` the sender's rate reads, 8 data bits, no parity, bytes back to back (whole times only)."""
    line = [1] * times
    for byte in data:
        for bit in [0] + [byte >> i & 1 for i in range(8)] + [1]:
            line += [bit] * times
    line += [1] * 20
    out, i = [], 1
    while i < len(line) - 10:
        if line[i - 1] and not line[i]:
            out.append(sum(line[i + 1 + k] << k for k in range(8)))
            i += 9
        else:
            i += 1
    return bytes(out)


def N(value, unit="mm", channel="", status="", at=None):
    v = Decimal(value)
    return at, {"value": v, "unit": unit, "value_mm": v * (Decimal("25.4") if unit == "in" else 1), "channel": channel, "status": status}


def S(status, channel="", at=None):
    return at, {"value": None, "unit": "", "value_mm": None, "channel": channel, "status": status}


def G(data, at=None):
    return at, {"fault": "garbled", "bytes": data.hex()}


def C(data, at=None):
    return at, {"fault": "cut", "bytes": data.hex()}


def plain(n):
    if isinstance(n, Decimal):
        text = format(n, "f")
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        return "0" if text in ("-0", "") else text
    return json.dumps(n)


def line(at, event):
    return "{" + ",".join(['"at_ms":%s' % at] + ['"%s":%s' % (k, plain(v)) for k, v in event.items()]) + "}\n"


def write(name, gauge, decoder, setting, shows, pieces, made=MADE):
    with open(name + ".capture", "w", newline="\n") as f:
        for key, words in (("gauge", gauge), ("decoder", decoder), ("line", setting), ("shows", shows), ("made", made)):
            f.write("# %s: %s\n" % (key, words))
        for at, data, _ in pieces:
            if data:
                f.write("%s %s\n" % (at, data.hex()))
    with open(name + ".expected.jsonl", "w", newline="\n") as f:
        for at, _, events in pieces:
            for own, event in events:
                f.write(line(at if own is None else own, event))


UNIT, WORDS, PLAIN = "signed decimal with unit", "signed decimal with status words", "signed decimal without unit, millimetres"
INCH, COMMA, CHANNEL, BLANKS = "decimal inch without leading zero", "decimal comma", "channel and value", "fixed width with blanks"
XOR, POLLED, PAUSE = "start and end marks with xor checksum", "polled signed decimal, millimetres", "whole micrometres ended by a pause"
REGISTERS, QUERY = "register of a probe, micrometres", "queried number, millimetres"
L4800, L19200 = "4800 baud, 7 data bits, even parity, 1 stop bit", "19200 baud, 8 data bits, no parity, 1 stop bit"
LMODBUS = "19200 baud, 8 data bits, even parity, 1 stop bit"

# --- one clean capture of each decoder that had none ---
write("indicator-words-clean", "dial indicator that says why it has no number", WORDS, L9600, "presses at the bench, nothing wrong", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (1400, b"-12.05mm\r\n", [N("-12.05")]), (2900, b"+0.0125in\r\n", [N("0.0125", "in")]),
    (4100, b"----\r\n", [S("no reading")]), (5200, b"+100.000mm\r\n", [N("100")])])
write("indicator-plain-clean", "dial indicator, unit left out", PLAIN, L9600, "ten a second, nothing wrong, ended by a carriage return alone", [
    (100 * i, b"%+08.3f\r" % (0.251 - 0.05 * i), [N("%.3f" % (0.251 - 0.05 * i))]) for i in range(12)])
write("indicator-blanks-clean", "older dial indicator, fixed width, no line end", BLANKS, L4800, "millimetres and inches, nothing wrong, frames back to back", [
    (0, b"+   1.950 mm    1.951 mm", [N("1.950"), N("1.951")]), (60, b"-  12.345 mm", [N("-12.345")]), (120, b"+ 250.001 mm", [N("250.001")]),
    (190, b"-   .0120 in+  1.2345 in", [N("-0.0120", "in"), N("1.2345", "in")]), (5000, b"+   0.000 mm", [N("0")])])
write("beam-inch-clean", "two-foot relief beam in inches", INCH, L9600, "four and five decimals through zero, nothing wrong", [
    (0, b"+.0120in\r\n", [N("0.0120", "in")]), (1500, b"+.01220in\r\n", [N("0.01220", "in")]), (2600, b"+.00000in\r\n", [N("0", "in")]),
    (3900, b'-.00315"\r\n', [N("-0.00315", "in")]), (5000, b"+1.00005in\r\n", [N("1.00005", "in")])])
write("height-comma-clean", "height gauge with a decimal comma", COMMA, L9600, "both units, two to four decimals, nothing wrong", [
    (0, b"+0,123 mm\r\n", [N("0.123")]), (700, b"-12,50 mm\r\n", [N("-12.50")]), (1500, b"+0,0500 in\r\n", [N("0.0500", "in")]),
    (2300, b"+123,4567 mm\r\n", [N("123.4567")])])
write("probe-checksum-clean", "length probe with start and end marks and a checksum", XOR, L19200, "numbers and a battery that is low, nothing wrong", [
    (0, xor("+1.950mm"), [N("1.950")]), (50, xor("-0.01220in"), [N("-0.01220", "in")]), (100, xor("+1.950mmB"), [S("low battery")]),
    (150, xor("+1234.56mm") + xor("+0.00001in"), [N("1234.56"), N("0.00001", "in")])])
write("probe-polled-clean", "length probe that answers when asked", POLLED, L9600, "an answer every 200 ms, nothing wrong", [
    (200 * i, b"%+.4f\r" % (0.5 + 0.0125 * i), [N("%.4f" % (0.5 + 0.0125 * i))]) for i in range(8)])
write("probe-registers-clean", "length probe with registers, asked every 100 ms", REGISTERS, LMODBUS,
      "the whole range of the register, nothing wrong", [
          (100 * i, answer(n), [N(Decimal(n).scaleb(-3))]) for i, n in
          enumerate([1950, 0, -1, 1, -1950, 256, 65536, 2147483647, -2147483648, 16777215])], STANDARD)
write("probe-query-clean", "length probe that answers a query", QUERY, L9600, "the three forms of a number with and without sign, nothing wrong", [
    (0, b"12\n", [N("12")]), (200, b"-3\n", [N("-3")]), (400, b"0.0305\n", [N("0.0305")]), (600, b"-1.950\r\n", [N("-1.950")]),
    (800, b"+1.95000000E+00\n", [N("1.95")]), (1000, b"-2.5E-003\n", [N("-0.0025")]), (1200, b"1.0E+02\n", [N("100")])], STANDARD)
write("probe-pause-clean", "length probe without a line end", PAUSE, L9600, "frames ended by 20 ms of silence and more, nothing wrong", [
    (0, b"+001950", [N("1.950")]), (27, b"+001951", [N("1.951")]), (90, b"-000001", [N("-0.001")]), (3600, b"+999", []), (3619, b"999", [N("999.999")])])

# --- what goes wrong ---
write("probe-query-damaged", "length probe that answers a query", QUERY, L9600, "what is no number: two, with a unit, a point alone, hex, noise, an answer cut", [
    (0, b"+1.950E+00\n", [N("1.95")]), (200, b"1.950,1.951\n", [G(b"1.950,1.951")]), (300, b"1.950 mm\n", [G(b"1.950 mm")]),
    (400, b".5\n", [G(b".5")]), (450, b"5.\n", [G(b"5.")]), (500, b"#H1F\n", [G(b"#H1F")]), (550, b"1.9\xb50\n", [G(b"1.9\xb50")]),
    (600, b"\n", [G(b"")]), (650, b"1E400\n", [G(b"1E400")]), (700, b"1E38\n", [G(b"1E38")]), (800, b"+1.95", [C(b"+1.95")]),
    (1300, b"0E+00\n", [G(b"0E+00")]), (1500, b"+1.951E+00\n", [N("1.951")])], STANDARD)
write("probe-query-errors", "length probe that answers a query", QUERY, L9600,
      "its identity, numbers that are none, then its error queue until it is empty", [
          (0, b"QUILLMERE,PROBE 4,0042,1.07\n", [S("is QUILLMERE, PROBE 4, 0042, 1.07")]), (200, b"1.95\n", [N("1.95")]),
          (400, b"9.9E37\n", [S("overload")]), (600, b"-9.90000000E+37\n", [S("overload")]), (800, b"9.91E37\n", [S("no reading")]),
          (1500, b'-113,"Undefined header"\n', [S("error -113: Undefined header")]),
          (1700, b'-222,"Data out of range;the ""low"" limit"\n', [S('error -222: Data out of range;the "low" limit')]),
          (1900, b'+0,"No error"\n', [S("error +0: No error")]), (2100, b'-113,"Undefined\n', [G(b'-113,"Undefined')]), (2300, b"1.96\n", [N("1.96")])], STANDARD)
write("carriage-battery", "carriage indicator: L is live, K its data key", CHANNEL, L9600, "a battery that runs low, on both channels, and is changed", [
    (0, b"L:+0.250mm\r\n", [N("0.250", channel="L")]), (100, b"L:BAT\r\n", [S("low battery", "L")]), (180, b"K:BAT\r\n", [S("low battery", "K")]),
    (200, b"L:OVER\r\n", [S("overload", "L")]), (300, b"L:BA\r\n", [G(b"L:BA")]), (310, b"T\r\n", [G(b"T")]),
    (64000, b"L:----\r\n", [S("no reading", "L")]), (64100, b"L:+0.251mm\r\n", [N("0.251", channel="L")])])
write("carriage-channels", "four indicators on one box", CHANNEL, L9600, "four channels in turn, one of them in inches, a channel lost on the way", [
    (0, b"1:+0.123mm\r\n2:-0.040mm\r\n3:+10.00mm\r\n4:+0.0050in\r\n", [N("0.123", channel="1"), N("-0.040", channel="2"), N("10", channel="3"), N("0.0050", "in", "4")]),
    (100, b"1:+0.124mm\r\n:-0.041mm\r\n", [N("0.124", channel="1"), G(b":-0.041mm")]), (150, b"3:+10.01mm\r\n", [N("10.01", channel="3")]),
    (200, b"1:+0.1252:-0.042mm\r\n", [G(b"1:+0.1252:-0.042mm")]), (250, b"4:----\r\n", [S("no reading", "4")])])
write("height-unit-switch", "height gauge with a data key", UNIT, L9600, "its unit key is pressed between two presses; then twice inside a frame", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (2100, b"+0.0768in\r\n", [N("0.0768", "in")]), (4200, b"+1.951mm\r\n", [N("1.951")]),
    (5000, b"+1.951mmin\r\n", [G(b"+1.951mmin")]), (6000, b"+0.0768\r\n", [G(b"+0.0768")]), (7000, b"+0.0768in\r\n", [N("0.0768", "in")])])
write("height-sign-switch", "height gauge with a data key", UNIT, L9600, "through zero: both signs of zero, a sign lost, a sign twice, a sign of another alphabet", [
    (0, b"+0.002mm\r\n", [N("0.002")]), (400, b"+0.000mm\r\n", [N("0")]), (800, b"-0.000mm\r\n", [N("0")]), (1200, b"-0.002mm\r\n", [N("-0.002")]),
    (1600, b"0.003mm\r\n", [G(b"0.003mm")]), (2000, b"-+0.003mm\r\n", [G(b"-+0.003mm")]),
    (2400, "\u22120.003mm\r\n".encode(), [G("\u22120.003mm".encode())]), (2800, b"-0.004mm\r\n", [N("-0.004")])])
write("height-half-frames", "height gauge on a cable that comes loose", UNIT, L9600, "halves with a silence behind, each followed by whole frames: the first after a silence only shows where frames begin", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (500, b"+1.9", [C(b"+1.9")]), (1000, b"+1.951mm\r\n", [G(b"+1.951mm")]), (1500, b"+1.952mm\r\n", [N("1.952")]),
    (2000, b"+1.953mm\r", [C(b"+1.953mm\r")]), (2500, b"\n", []), (2600, b"+1.954mm\r\n", [G(b"\n+1.954mm")]),
    (3000, b"53mm\r\n", [G(b"53mm")]), (3400, b"+1.955mm\r\n", [N("1.955")]), (3800, b"+", [C(b"+")])])
write("height-noise-between", "height gauge beside a welding set", UNIT, L9600, "bursts between frames, with and without line ends in them", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (100, b"\xff\x00\xfe\r\n", [G(b"\xff\x00\xfe")]), (200, b"+1.951mm\r\n", [N("1.951")]),
    (300, b"\x80\x80", []), (350, b"+1.952mm\r\n", [G(b"\x80\x80+1.952mm")]), (450, b"+1.953mm\r\n", [N("1.953")]),
    (700, b"\x00", [C(b"\x00")]), (1200, b"+1.954mm\r\n", [G(b"+1.954mm")]), (1300, b"+1.955mm\r\n\r\n\n", [N("1.955"), G(b"")]), (1350, b"+1.956mm\r\n", [G(b"\n+1.956mm")]),
    (1400, b"+1.957mm\r\n", [N("1.957")])])
write("height-marks-without-width", "height gauge behind a converter that adds characters", UNIT, L9600,
      "characters that no eye sees: a byte order mark, a zero-width space, a soft hyphen, NUL, a no-break space", [
          (0, b"\xef\xbb\xbf+1.950mm\r\n", [G(b"\xef\xbb\xbf+1.950mm")]), (400, "+1.95\u200b0mm\r\n".encode(), [G("+1.95\u200b0mm".encode())]),
          (800, "+1\u00ad.950mm\r\n".encode(), [G("+1\u00ad.950mm".encode())]), (1200, b"+1.950mm\x00\r\n", [G(b"+1.950mm\x00")]),
          (1600, "+1.950\u00a0mm\r\n".encode(), [G("+1.950\u00a0mm".encode())]), (2000, b"+1.950mm\r\n", [N("1.950")])])
write("height-doubled-presses", "height gauge with a worn key", UNIT, L9600, "the same frame two and three times within milliseconds; whether that is one press is judged where it is taken", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (11, b"+1.950mm\r\n", [N("1.950")]), (3000, b"+1.951mm\r\n+1.951mm\r\n+1.951mm\r\n", [N("1.951")] * 3),
    (6000, b"+1.952mm\r\n", [N("1.952")]), (6180, b"+1.952mm\r\n", [N("1.952")])])
write("height-long-silence", "height gauge with a data key", UNIT, L9600, "an hour, then a day between frames, and inside one", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (3600000, b"+1.951mm\r\n", [N("1.951")]), (90000000, b"+1.9", [C(b"+1.9")]),
    (93600000, b"52mm\r\n", [G(b"52mm")]), (93600500, b"+1.953mm\r\n", [N("1.953")])])
write("height-restart", "height gauge that introduces itself", UNIT, L9600, "its battery falls out in a frame; what it says after a restart is no reading", [
    (0, b"+1.950mm\r\n", [N("1.950")]), (800, b"+1.9\x00", [C(b"+1.9\x00")]), (2900, b"\x00\x00\xf8READY 1.07\r\n", [G(b"\x00\x00\xf8READY 1.07")]),
    (2950, b"+0.000mm\r\n", [N("0")]), (4800, b"+1.951mm\r\n", [N("1.951")])])
frame = b"-0.014mm\r\n"
write("height-slow-line", "height gauge on a line of 110 baud", UNIT, "110 baud, 8 data bits, no parity, 2 stop bits",
      "a byte every 100 ms, then every 199 ms, then one of 200", [
          (100 * i, frame[i:i + 1], [N("-0.014")] if i == 9 else []) for i in range(10)] + [
          (1099 + 199 * i, frame[i:i + 1], [N("-0.014")] if i == 9 else []) for i in range(10)] + [
          (5000, b"-0.0", [C(b"-0.0")]), (5200, b"14mm\r\n", [G(b"14mm")])])
write("height-wrong-rate", "height gauge at 4800 baud, the program at 9600", UNIT, L9600,
      "what a receiver at twice the rate makes of whole frames: nothing fits, and no line end is among it",
      [(0, faster(b"+1.950mm\r\n", 2), [C(faster(b"+1.950mm\r\n", 2))]), (1000, faster(b"-0.004mm\r\n", 2), [C(faster(b"-0.004mm\r\n", 2))])],
      "written by make.py: the line's bits sampled at twice the rate, readings stated by hand")
write("indicator-parity", "older dial indicator, fixed width, no line end", BLANKS, L4800,
      "bytes with wrong parity, which the system hands on as 0: the next frame that fits only shows where frames begin", [
          (0, b"+   1.950 mm", [N("1.950")]), (100, b"+   1.\x0051 mm", []), (200, b"+   1.952 mm", [G(b"+   1.\x0051 mm+   1.952 mm")]),
          (300, b"+   1.953 mm", [N("1.953")]), (400, b"\x00   1.954 mm", [G(b"\x00   1.954 mm")]), (1000, b"+   1.955 mm", [G(b"+   1.955 mm")]),
          (1100, b"+   1.956 mm", [N("1.956")]), (1200, b"+   1.95", [C(b"+   1.95")])])
write("probe-flipped-bits", "length probe with start and end marks and a checksum", XOR, L19200, "each place of a frame wrong in turn, the sum's digits too: none becomes a number", [
    (20 * i, bytes([b ^ 1 if k == i + 1 else b for k, b in enumerate(xor("+1.950mm"))]),
     [G(bytes([b ^ 1 if k == i + 1 else b for k, b in enumerate(xor("+1.950mm"))])[:-1])]) for i in range(10)] + [(200, xor("+1.950mm"), [N("1.950")])])
write("probe-flood", "length probe with start and end marks and a checksum", XOR, L19200, "a hundred bytes without an end, then frames: what follows up to the first end is no frame", [
    (0, b"\x55" * 100, [G(b"\x55" * 33)] * 3), (20, xor("+1.950mm"), [G(b"\x55" + xor("+1.950mm")[:-1])]), (40, xor("+1.951mm"), [N("1.951")])])
write("probe-pause-too-long", "length probe without a line end", PAUSE, L9600, "three frames with pauses of 19 ms, which are none; the frame after the next pause counts again", [
    (0, b"+001950", []), (19, b"+001951", []), (38, b"+001952", [G(b"+001950+001951+00")]), (100, b"+001953", [G(b"1952", at=38), N("1.953")]),
    (200, b"+00195", [G(b"+00195")]), (260, b"-000002", [N("-0.002")])])
write("registers-exceptions", "length probe with registers, asked every 100 ms", REGISTERS, LMODBUS, "it refuses with each code of the standard, between answers", [
    (0, answer(1950), [N("1.95")])] + [
    (100 * (i + 1), rtu(1, 0x84, code), [S("refused with exception %d" % code)]) for i, code in enumerate([1, 2, 3, 4, 5, 6, 8, 10, 11])] + [
    (1000, rtu(1, 0x83, 2), []), (1100, answer(1951), [G(rtu(1, 0x83, 2), at=1000), N("1.951")])], STANDARD)
wrong = [answer(1950)[:i] + bytes([answer(1950)[i] ^ 0x10]) + answer(1950)[i + 1:] for i in range(9)]
write("registers-wrong-bytes", "length probe with registers, asked every 300 ms", REGISTERS, LMODBUS, "an answer with each of its nine bytes wrong in turn, with silences between", [
    (300 * i, w, [G(w)]) for i, w in enumerate(wrong)] + [(2700, answer(1950), [N("1.95")])], STANDARD)
ask = rtu(1, 4, 0, 0, 0, 2)
write("registers-echo", "length probe with registers on two wires", REGISTERS, LMODBUS, "the adapter hears its own requests; another unit answers on the same line", [
    (0, ask, []), (8, answer(1950), [G(ask, at=0), N("1.95")]), (100, ask, []), (108, answer(1951, 2), []), (150, answer(1952), [G(ask + answer(1951, 2), at=108), N("1.952")]),
    (250, ask, [C(ask)])], STANDARD)
write("registers-float", "length probe with registers, low word first", "decoders/float-low-first.toml", "9600 baud, 8 data bits, even parity, 1 stop bit",
      "floating-point numbers, what is no number, infinity, a refusal, a wrong CRC", [
          (0, floats(1.95), [N("1.95")]), (100, floats(-0.0305), [N("-0.0305")]), (200, floats(0.0), [N("0")]), (300, floats(1e-3), [N("0.001")]),
          (400, floats(float("nan")), [S("no reading")]), (500, floats(float("-inf")), [S("no reading")]), (600, rtu(17, 0x83, 2), [S("refused with exception 2")]),
          (700, floats(1.5)[:-1] + b"\x00", [G(floats(1.5)[:-1] + b"\x00")]), (1000, floats(2.5), [N("2.5")])], STANDARD)
write("probe-start-byte", "depth gauge in inches, a start byte and a fixed length", "decoders/at-sign-eight.toml", "2400 baud, 7 data bits, odd parity, 2 stop bits",
      "clean frames back to back, bytes lost, a frame begun twice, a silence: the start byte shows the next frame", [
          (0, b"@+1.2345@-0.0120", [N("1.2345", "in"), N("-0.0120", "in")]), (100, b"@+1.23", []), (150, b"@+1.2346", [G(b"@+1.23", at=100), N("1.2346", "in")]),
          (200, b"xx", []), (210, b"@+1.2347", [G(b"xx", at=200), N("1.2347", "in")]), (300, b"@+1.2", [C(b"@+1.2")]), (800, b"@+1.2348", [N("1.2348", "in")]),
          (850, b"@+1,2349", []), (870, b"@-1.2350", [G(b"@+1,2349", at=850), N("-1.2350", "in")])])
write("probe-line-feed", "box of eight probes, CRC in hex, ended by a line feed alone", "decoders/crc-line.toml", "38400 baud, 8 data bits, no parity, 1 stop bit",
      "clean lines, a digit and a channel that only the CRC shows wrong, an empty line, a line without its CRC", [
          (0, crcline("1:+01.950 mm") + crcline("2:-00.004 mm"), [N("1.950", channel="1"), N("-0.004", channel="2")]),
          (50, crcline("8:+00.012 in"), [N("0.012", "in", "8")]), (100, crcline("1:+01.950 mm").replace(b"950", b"951"), [G(crcline("1:+01.950 mm").replace(b"950", b"951")[:-1])]),
          (150, crcline("1:+01.950 mm").replace(b"1:", b"2:"), [G(crcline("1:+01.950 mm").replace(b"1:", b"2:")[:-1])]), (200, b"\n", [G(b"")]),
          (250, b"1:+01.950 mm\n", [G(b"1:+01.950 mm")]), (300, crcline("9:+01.950 mm"), [G(crcline("9:+01.950 mm")[:-1])]), (350, crcline("1:+01.952 mm"), [N("1.952", channel="1")])])
