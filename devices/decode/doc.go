// Package decode turns the bytes that a measuring gauge sends over its line into readings.
//
// A decoder is data, not code: a TOML file that says how the line is set, how a frame begins and ends, what a
// frame looks like and what its words mean. A Stream cuts bytes into frames and yields one Event for every
// reading and for every stretch it had to refuse, so that no byte goes by unreported.
//
// # What a decoder cannot see
//
// A number comes only from bytes that are a whole frame: between known marks, of the right length, fitting the whole
// pattern, with the right checksum. Damage that turns a frame into another whole frame cannot be seen by anyone who
// has only the bytes. What that leaves, by family (the tests send ten million frames, one in four damaged, and count):
//
//   - text without a checksum: a digit or sign that became another, two digits that changed places, and where the pattern
//     allows numbers of different length a digit lost or doubled, or the head of one frame run together with the tail
//     of the next. A pattern with a fixed count of digits leaves only the first two and whole heads with whole tails. Lost
//     beginnings and ends, noise, bursts and another rate are seen, because sign, point, unit and end must be there.
//   - text of fixed length without a start mark: the same; and after damage the first frame that fits only shows where
//     frames begin, so one good frame more is refused.
//   - text ended by a pause: the same as without a checksum; two frames without a pause between them are refused.
//   - text with a checksum: xor, sum8 and lrc show every change within one byte, but not two bytes that changed places, and
//     one in 256 of changes at random; crc16-modbus shows every change of up to 16 neighbouring bits and all but one in
//     65536 others. In hex a changed bit may turn a digit's letter into its other case, which says the same.
//   - modbus-rtu: as crc16-modbus. Not which register an answer is about, since an answer does not say: two programs asking
//     on one line, or an answer that is later than its time-out, would mislead.
//   - scpi: the standard's numbers have no fixed length, sign or unit, so that a lost beginning or a lost end before the line
//     feed leaves a number too. Prefer a gauge's own format with unit and fixed digits where it has one.
//
// What the bytes cannot show is left to where a reading is used: a number far from what the point can be is questioned
// there, and every reading keeps its raw bytes.
package decode
