package cure

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// TOMLError turns an error of the TOML decoder into one that names the place and
// the nearest known key.
func TOMLError(file string, err error, known []string) error {
	var missing *toml.StrictMissingError
	if errors.As(err, &missing) {
		var faults []error
		for i := range missing.Errors {
			e := &missing.Errors[i]
			line, _ := e.Position()
			faults = append(faults, unknownKey(file, line, e.Key(), known))
		}
		return errors.Join(faults...)
	}
	var wrong *toml.DecodeError
	if errors.As(err, &wrong) {
		line, column := wrong.Position()
		what := strings.TrimPrefix(wrong.Error(), "toml: ")
		if key := wrong.Key(); len(key) > 0 {
			return fmt.Errorf("%s:%d:%d: key %q: %s", file, line, column, strings.Join(key, "."), what)
		}
		return fmt.Errorf("%s:%d:%d: not valid TOML: %s", file, line, column, what)
	}
	return fmt.Errorf("%s: read as TOML: %w", file, err)
}

func unknownKey(file string, line int, key []string, known []string) error {
	if len(key) == 0 {
		return fmt.Errorf("%s:%d: unknown key; remove it", file, line)
	}
	last := key[len(key)-1]
	if near, ok := Nearest(last, known); ok {
		return fmt.Errorf("%s:%d: unknown key %q; did you mean %q?", file, line, strings.Join(key, "."), near)
	}
	return fmt.Errorf("%s:%d: unknown key %q; remove it (known keys: %s)", file, line, strings.Join(key, "."), strings.Join(known, ", "))
}

// TOMLLine finds the line that a top-level key or table begins at; 0 when it is
// not there.
func TOMLLine(data []byte, key string) int {
	re, err := regexp.Compile(`(?m)^[ \t]*(\[+[ \t]*)?"?` + regexp.QuoteMeta(key) + `"?[ \t]*[=\].]`)
	if err != nil {
		return 0
	}
	at := re.FindIndex(data)
	if at == nil {
		return 0
	}
	return 1 + bytes.Count(data[:at[0]], []byte("\n"))
}
