package config

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press/units"
)

// strict holds every entry of the document against the schema.
func (f *faults) strict(root *schema) {
	var skip []string // below these all has been said
entries:
	for _, e := range f.doc.entries {
		for _, path := range skip {
			if e.path == path || strings.HasPrefix(e.path, path+".") || strings.HasPrefix(e.path, path+"[") {
				continue entries
			}
		}
		if !f.entry(root, e) {
			skip = append(skip, e.path)
		}
	}
}

// entry checks one entry and reports whether what is inside it is worth a look.
func (f *faults) entry(root *schema, e entry) bool {
	s, at := root, ""
	for i, key := range e.keys {
		if s.kind == free {
			return true
		}
		if s.kind == leaf {
			f.add(e.line, "%s is a value and cannot have keys of its own such as %q", at, key)
			return false
		}
		next := s.fields[key]
		if next == nil {
			f.add(e.line, "%s", root.unknown(s, at, key, e.header() && i == len(e.keys)-1))
			return false
		}
		if i < len(e.keys)-1 && next.repeats() && f.doc.counts[listPath(e.path, i)] == 0 && e.header() {
			f.add(e.line, "%s stands before any [[%s]]; give that one first", headerText(e), join(at, key))
			return false
		}
		s, at = next, join(at, key)
	}
	return f.shape(s, at, e)
}

// shape checks that what stands at a known place is of its kind.
func (f *faults) shape(s *schema, at string, e entry) bool {
	inList := strings.HasSuffix(e.path, "]")
	switch {
	case s.kind == leaf && e.header():
		f.add(e.line, "%s is a value: write %s = …", at, at)
	case s.kind == leaf:
		f.value(s, at, e)
		return true
	case s.kind == table && (e.kind == unstable.Table || e.kind == unstable.InlineTable):
		return true
	case s.repeats() && (e.kind == unstable.ArrayTable || e.kind == unstable.Array || (inList && e.kind == unstable.InlineTable)):
		return true
	default:
		f.add(e.line, "%s is a table: write %s and its keys below", at, s.brackets(at))
	}
	return false
}

// value checks one value by decoding it.
func (f *faults) value(s *schema, at string, e entry) {
	if text, ok := reflect.New(s.value).Interface().(encoding.TextUnmarshaler); ok {
		if e.kind != unstable.String {
			f.add(e.line, "%s: write the value in quotes, such as %s = %q (found %s)", at, lastKey(at), example(s.value), found(e))
		} else if err := text.UnmarshalText([]byte(e.text)); err != nil {
			f.add(e.line, "%s: %v", at, err)
		}
		return
	}
	switch {
	case s.value.Kind() == reflect.String && e.kind != unstable.String:
		f.add(e.line, "%s: write the value in quotes (found %s)", at, found(e))
	case s.value.Kind() == reflect.Bool && e.kind != unstable.Bool:
		f.add(e.line, "%s: write true or false, without quotes (found %s)", at, found(e))
	case s.value.Kind() == reflect.Int && e.kind != unstable.Integer:
		f.add(e.line, "%s: write a whole number, without quotes (found %s)", at, found(e))
	}
}

// unknown says what to write instead of an unknown key.
func (s *schema) unknown(in *schema, at, key string, header bool) string {
	what := fmt.Sprintf("unknown key %q", key)
	if header {
		what = fmt.Sprintf("unknown table %q", join(at, key))
	}
	if homes := s.home(key); len(homes) > 0 && !header {
		return what + " here; it belongs in " + strings.Join(homes, " or ")
	}
	if near, ok := cure.Nearest(key, in.names); ok {
		return fmt.Sprintf("%s; did you mean %q?", what, join(headerPart(at, header), near))
	}
	place := "at the top of the file"
	if at != "" {
		place = "in " + in.brackets(at)
	}
	return fmt.Sprintf("%s; known %s are %s", what, place, strings.Join(in.names, ", "))
}

func headerPart(at string, header bool) string {
	if header {
		return at
	}
	return ""
}

func (s *schema) repeats() bool { return s.kind == list || s.kind == free }

// header reports whether the entry is a [table] or [[table]].
func (e entry) header() bool { return e.kind == unstable.Table || e.kind == unstable.ArrayTable }

func headerText(e entry) string {
	text := "[" + strings.Join(e.keys, ".") + "]"
	if e.kind == unstable.ArrayTable {
		text = "[" + text + "]"
	}
	return text
}

// listPath is the path of the first n+1 keys of an indexed path, without the
// last index.
func listPath(path string, n int) string {
	parts := strings.Split(path, ".")
	if n >= len(parts) { // a quoted key with a dot in it
		return path
	}
	p := strings.Join(parts[:n+1], ".")
	if strings.HasSuffix(p, "]") {
		return p[:strings.LastIndex(p, "[")]
	}
	return p
}

func lastKey(at string) string { return at[strings.LastIndex(at, ".")+1:] }

// example is a value that could stand there.
func example(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[units.Pressure]():
		return "65kPa"
	case reflect.TypeFor[units.Temperature]():
		return "12C"
	case reflect.TypeFor[units.Duration]():
		return "10s"
	case reflect.TypeFor[units.PressureUnit]():
		return "kPa"
	case reflect.TypeFor[units.TemperatureUnit]():
		return "C"
	}
	return "…"
}

// found repeats what stands in the file, if it is short and no text: text may
// be a secret that was put behind the wrong key.
func found(e entry) string {
	switch e.kind {
	case unstable.String:
		return "text"
	case unstable.Array:
		return "a list"
	case unstable.InlineTable:
		return "a table"
	default:
		if len(e.text) > 32 {
			return "a number of " + fmt.Sprint(len(e.text)) + " characters"
		}
		return e.text
	}
}
