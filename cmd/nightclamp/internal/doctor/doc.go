// Package doctor looks over a board, its config and its daemon, and says of each
// thing whether it is well and, where it is not, what to do.
//
// Call [Machine.Examine]. Each check gives at least one [Finding] of one line:
// ok, attention (it works, and somebody should know), or wrong (the night would
// fail by it). Nothing is changed and no message is sent, unless [Machine.Send]
// asks for one.
//
// Everything that is a file is looked for below [Machine.Root], and everything
// else is a function of the machine, so that every finding can be had in a test.
package doctor
