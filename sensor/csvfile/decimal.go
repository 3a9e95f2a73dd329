package csvfile

import (
	"strconv"
	"time"
)

// plain splits a plain decimal like -16000.25 into its digits and the number
// of them behind the point. It does not take exponents, nor more digits than
// an int64 surely holds; those are left to strconv.
func plain(cell []byte) (digits int64, behind int, ok bool) {
	number := cell
	if len(cell) > 0 && cell[0] == '-' {
		number = cell[1:]
	}
	if len(number) > 18 {
		return 0, 0, false
	}
	count, point := 0, -1
	for i, c := range number {
		switch d := c - '0'; {
		case d <= 9:
			digits = digits*10 + int64(d)
			count++
		case c == '.' && point < 0:
			point = i
		default:
			return 0, 0, false
		}
	}
	if point >= 0 {
		behind = len(number) - 1 - point
	}
	if len(number) < len(cell) {
		digits = -digits
	}
	return digits, behind, count > 0
}

// scan reads a plain decimal that ends at a comma or with the line: its digits,
// the number of them behind the point and the length of the cell. It is plain for
// a cell whose end is not known yet; what it does not take is read the long way.
func scan(rest []byte) (digits int64, behind, length int, ok bool) {
	i, negative := 0, false
	if len(rest) > 0 && rest[0] == '-' {
		i, negative = 1, true
	}
	from, point := i, -1
	for ; i < len(rest); i++ {
		c := rest[i]
		if d := c - '0'; d <= 9 {
			digits = digits*10 + int64(d)
			continue
		}
		if c == ',' {
			break
		}
		if c != '.' || point >= 0 {
			return 0, 0, 0, false
		}
		point = i
	}
	count := i - from
	if point >= 0 {
		count--
		behind = i - 1 - point
	}
	if negative {
		digits = -digits
	}
	return digits, behind, i, count > 0 && count <= 15 && (digits != 0 || !negative)
}

// powers of ten that a float64 holds exactly, as far as plain needs them.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18} //nolint:gochecknoglobals // a constant

// parseNumber is strconv.ParseFloat, faster for the numbers that parts write.
// Up to 2^53 the digits and the power of ten are exact, so that one division
// rounds correctly.
func parseNumber(cell []byte) (float64, error) {
	if digits, behind, ok := plain(cell); ok && digits > -1<<53 && digits < 1<<53 && (digits != 0 || cell[0] != '-') {
		return float64(digits) / powers[behind], nil
	}
	return strconv.ParseFloat(string(cell), 64)
}

// minute remembers the minute of the row before: reading the date again for
// every row would be most of the work.
type minute struct {
	text  [16]byte // 2026-10-16T17:40
	begin time.Time
}

const secondsLayout = len(":05Z")

// parse reads an RFC 3339 time in UTC that falls into the remembered minute.
func (m *minute) parse(cell []byte) (time.Time, bool) {
	if len(cell) < len(m.text)+secondsLayout || [16]byte(cell) != m.text || cell[16] != ':' || cell[len(cell)-1] != 'Z' {
		return time.Time{}, false
	}
	digits, behind, ok := plain(cell[17 : len(cell)-1])
	if !ok || behind > 9 || cell[17] > '5' || cell[17] < '0' || cell[18] < '0' || cell[18] > '9' {
		return time.Time{}, false
	}
	if rest := cell[19 : len(cell)-1]; len(rest) > 0 && (rest[0] != '.' || behind == 0) {
		return time.Time{}, false
	}
	for ; behind < 9; behind++ {
		digits *= 10
	}
	return m.begin.Add(time.Duration(digits)), true
}

// remember takes the minute of a time that was read the long way.
func (m *minute) remember(cell []byte, t time.Time) {
	if len(cell) >= len(m.text)+secondsLayout && cell[len(cell)-1] == 'Z' {
		m.text = [16]byte(cell)
		m.begin = t.Truncate(time.Minute)
	}
}
