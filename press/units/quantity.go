package units

import (
	"fmt"
	"strconv"
	"strings"
)

// maxText is more than any quantity needs; longer input is refused before it
// is looked at or repeated in a message.
const maxText = 64

// split takes text apart into its leading number and what follows it, without
// the blanks around either. what names the quantity and want its units, for
// the errors.
func split(text, what, want string) (value float64, unit string, err error) {
	if len(text) > maxText {
		return 0, "", fmt.Errorf("%s of %d characters: write a number and a unit, one of %s", what, len(text), want)
	}
	// A minus sign copied from a web page or a datasheet is often U+2212.
	s := strings.TrimSpace(strings.Replace(text, "−", "-", 1))
	n := numberLen(s)
	if n == 0 {
		return 0, "", fmt.Errorf("%s %q does not begin with a number: write a number and a unit, one of %s", what, text, want)
	}
	value, err = strconv.ParseFloat(s[:n], 64)
	if err != nil {
		return 0, "", fmt.Errorf("%s %q: the number is out of range", what, text)
	}
	unit = strings.TrimSpace(s[n:])
	if unit == "" {
		return 0, "", fmt.Errorf("%s %q has no unit: add one of %s", what, text, want)
	}
	return value, unit, nil
}

// numberLen is the length of the decimal number at the begin of s: a sign,
// digits with at most one point among them, an exponent.
func numberLen(s string) int {
	i := 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	whole := digits(s[i:])
	i += whole
	fraction := 0
	if i < len(s) && s[i] == '.' {
		fraction = digits(s[i+1:])
		i += 1 + fraction
	}
	if whole+fraction == 0 {
		return 0
	}
	return i + exponentLen(s[i:])
}

// exponentLen is the length of the exponent at the begin of s, 0 without one.
func exponentLen(s string) int {
	if s == "" || (s[0] != 'e' && s[0] != 'E') {
		return 0
	}
	i := 1
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	n := digits(s[i:])
	if n == 0 {
		return 0
	}
	return i + n
}

func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// plain writes v with as few digits as read back the same.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
