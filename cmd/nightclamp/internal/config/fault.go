package config

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Fault is one thing that is wrong with the file.
type Fault struct {
	File string // as it was named
	Line int    // from 1; 0: the file does not speak of it
	Text string // what is wrong and what to write instead
}

// Error writes file:line: text.
func (f *Fault) Error() string {
	switch {
	case f.File == "":
		return f.Text
	case f.Line == 0:
		return f.File + ": " + f.Text
	}
	return fmt.Sprintf("%s:%d: %s", f.File, f.Line, f.Text)
}

// faults gathers what is wrong.
type faults struct {
	file string
	doc  *document
	list []*Fault
}

// add notes a fault at a line.
func (f *faults) add(line int, format string, args ...any) {
	f.list = append(f.list, &Fault{File: f.file, Line: line, Text: readable(fmt.Sprintf(format, args...))})
}

// readable takes the middle out of a text that nobody reads to its end, where a
// key or a value is as long as a file: what is wrong stands at its begin, the
// remedy at its end.
func readable(text string) string {
	const begin, end = 900, 600
	if len(text) <= begin+end {
		return text
	}
	return strings.ToValidUTF8(text[:begin], "") + " … " + strings.ToValidUTF8(text[len(text)-end:], "")
}

// at notes a fault at the key with this path.
func (f *faults) at(path, format string, args ...any) {
	f.add(f.doc.line(path), format, args...)
}

// err joins all faults in the order of their lines; nil when there is none.
func (f *faults) err() error {
	slices.SortStableFunc(f.list, func(a, b *Fault) int { return cmp.Compare(a.Line, b.Line) })
	errs := make([]error, len(f.list))
	for i, fault := range f.list {
		errs[i] = fault
	}
	return errors.Join(errs...)
}
