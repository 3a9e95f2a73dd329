// Package calibration keeps what was found about the errors of a board's sensors,
// and takes them out of the readings.
//
// A [Book] is a small file beside the record. It is a list of dated entries, each
// about one quantity of one sensor of one press, and nothing in it is ever deleted:
// an entry is undone by a date. In force is, for each kind, the newest entry that is
// not undone. [Correction.ZeroFor] and [Correction.SpanFor] work a new entry out so
// that it is right together with those of the other kinds.
//
//	zero         what is added, Pa
//	span         a factor about the point where the zero was taken
//	temperature  what is added for each kelvin of the air away from a temperature, Pa/K
//
// A gauge part's pressure is that below the room: its zero and span work on the
// vacuum, and its span turns about no vacuum at all.
//
// [Learn] finds a temperature coefficient in the holds of sound nights.
package calibration
