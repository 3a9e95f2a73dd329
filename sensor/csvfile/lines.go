package csvfile

import (
	"bytes"
	"errors"
	"io"
)

// longestLine is far beyond any row of six numbers.
const longestLine = 4096

var errLongLine = errors.New("line too long")

// lines cuts a stream into lines without copying them.
type lines struct {
	r          io.Reader
	buf        []byte
	start, end int // of what is read and not yet returned
	err        error
	whole      bool // the last line returned had its line end
}

func newLines(r io.Reader) *lines {
	return &lines{r: r, buf: make([]byte, 16*longestLine)}
}

// next returns the next line without its line end. It is valid until the
// call after.
func (l *lines) next() ([]byte, error) {
	searched := 0
	for {
		if i := bytes.IndexByte(l.buf[l.start+searched:l.end], '\n'); i >= 0 {
			line := l.buf[l.start : l.start+searched+i]
			l.start += searched + i + 1
			l.whole = true
			return line, nil
		}
		searched = l.end - l.start
		if searched > longestLine {
			return nil, errLongLine
		}
		if l.err != nil {
			return l.last()
		}
		l.fill()
	}
}

// last returns what stands after the last line end, once.
func (l *lines) last() ([]byte, error) {
	if l.start == l.end || !errors.Is(l.err, io.EOF) {
		return nil, l.err
	}
	line := l.buf[l.start:l.end]
	l.start = l.end
	l.whole = false
	return line, nil
}

func (l *lines) fill() {
	if l.start > 0 && len(l.buf)-l.end < longestLine {
		copy(l.buf, l.buf[l.start:l.end])
		l.end -= l.start
		l.start = 0
	}
	for range 100 {
		n, err := l.r.Read(l.buf[l.end:])
		l.end += n
		l.err = err
		if n > 0 || err != nil {
			return
		}
	}
	l.err = io.ErrNoProgress
}
