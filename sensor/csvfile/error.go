package csvfile

import (
	"strconv"
	"strings"
)

// Error says what in a file cannot be read, where, and what to do about it.
type Error struct {
	File    string // as it was named to [NewReader]
	Line    int    // from 1
	Column  string // empty when the whole line is meant
	Value   string // as it stands in the file
	Problem string
	Remedy  string
}

func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File + ":" + strconv.Itoa(e.Line) + ": ")
	if e.Column != "" {
		b.WriteString("column " + e.Column + ": ")
	}
	if e.Value != "" {
		b.WriteString(strconv.Quote(shorten(e.Value)) + " ")
	}
	b.WriteString(e.Problem)
	if e.Remedy != "" {
		b.WriteString(": " + e.Remedy)
	}
	return b.String()
}

// shorten keeps a value that fills a screen from doing so.
func shorten(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}
