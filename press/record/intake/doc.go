// Package intake takes runs into the record that were recorded elsewhere, so
// that the history of a workshop is one.
//
// [Folder] takes what another board exported, without loss: the same run
// exported again gives the same files. [Log] takes a plain series, as
// `nightclamp replay` reads it, plays it to the engine and keeps what the
// engine says. Either all of a run is taken or nothing.
package intake
