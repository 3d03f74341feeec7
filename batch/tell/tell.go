// Package tell is the program's dictionary: every name, state, verdict, reason and sentence that people read is worded here
// once, for the pages, the workbook, the terminal and the alarms alike. What is told comes in as data: a result of inspect, the
// nouns of batch, a signal of spc, a finding of study, a change of sampling; and a [Scale] where numbers with a unit are told.
// Nothing here decides anything, and nothing is ever read back out of a sentence.
//
// Names of characteristics, of places and of steps of rework, and why a neck was judged as it was, stand in inspect: they are part of
// its result. Keys and values of files, JSON and the record are not words of this package.
package tell
