package drivers

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/agext/levenshtein"
	"github.com/go-viper/mapstructure/v2"
)

// Options are the settings of one part as they stand in the config file.
type Options map[string]any

// Option describes one setting.
type Option struct {
	Key     string
	Type    string // text, number, whole number, true or false, duration, time, list
	Default string // as the config file has it, such as "A" in quotes or 0x18; empty: none
	Doc     string
}

// OptionError says that an option is not known or has a value that it cannot
// have. The config's reader turns Key into a place in the file.
type OptionError struct {
	Key     string   // with dots where options are nested
	Known   []string // the keys that there are, when Key is not one of them
	Problem string
}

func (e *OptionError) Error() string { return "option " + e.Key + " " + e.Problem }

// decode lays the options over the defaults in the struct that into points to.
func (o Options) decode(into any) error {
	var meta mapstructure.Metadata
	decoder, err := mapstructure.NewDecoder(&mapstructure.DecoderConfig{
		Result:    into,
		Metadata:  &meta,
		TagName:   "toml",
		MatchName: func(key, field string) bool { return key == field },
		DecodeHook: mapstructure.ComposeDecodeHookFunc(
			replaceSlices, mapstructure.StringToTimeDurationHookFunc(), mapstructure.StringToTimeHookFunc(time.RFC3339)),
	})
	if err != nil {
		return fmt.Errorf("reading the options of a part: %w", err)
	}
	if err := decoder.Decode(map[string]any(o)); err != nil {
		return explain(err)
	}
	if len(meta.Unused) > 0 {
		slices.Sort(meta.Unused)
		key := meta.Unused[0]
		known := keys(reflect.TypeOf(into).Elem(), "")
		return &OptionError{Key: key, Known: known, Problem: "is not known: " + suggest(key, known)}
	}
	return nil
}

// replaceSlices empties a list before it is decoded: a list in the config
// stands for the whole default list, not for its first elements.
func replaceSlices(from, to reflect.Value) (any, error) {
	if to.Kind() == reflect.Slice && to.CanSet() {
		to.SetZero()
	}
	return from.Interface(), nil
}

// explain turns the decoder's first error into one that a person can use.
func explain(err error) error {
	var at *mapstructure.DecodeError
	if !errors.As(err, &at) {
		return err
	}
	problem := at.Unwrap().Error()
	var wrong *mapstructure.UnconvertibleTypeError
	if errors.As(err, &wrong) {
		problem = fmt.Sprintf("is %v: give %s", wrong.Value, article(typeName(wrong.Expected.Type())))
	} else if strings.Contains(problem, "duration") {
		problem = "is no duration: write it like 90s, 5m or 1h30m"
	}
	return &OptionError{Key: at.Name(), Problem: problem}
}

func article(kind string) string {
	switch kind {
	case "true or false", "text":
		return kind
	}
	return "a " + kind
}

// describe lists the options of a config struct with its defaults.
func describe(defaults any) []Option {
	return walk(reflect.ValueOf(defaults), "")
}

func walk(v reflect.Value, prefix string) []Option {
	var out []Option
	for i := range v.NumField() {
		field := v.Type().Field(i)
		key, how, _ := strings.Cut(field.Tag.Get("toml"), ",")
		if how == "squash" {
			out = append(out, walk(v.Field(i), prefix)...)
		}
		if key == "" {
			continue
		}
		if field.Type.Kind() == reflect.Struct && field.Type != reflect.TypeFor[time.Time]() {
			out = append(out, walk(v.Field(i), prefix+key+".")...)
			continue
		}
		out = append(out, Option{
			Key: prefix + key, Type: typeName(field.Type), Doc: field.Tag.Get("doc"), Default: literal(prefix+key, v.Field(i)),
		})
	}
	return out
}

func keys(t reflect.Type, prefix string) []string {
	var out []string
	for _, o := range walk(reflect.Zero(t), prefix) {
		out = append(out, o.Key)
	}
	return out
}

func typeName(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[time.Duration]():
		return "duration"
	case reflect.TypeFor[time.Time]():
		return "time"
	}
	switch t.Kind() {
	case reflect.String:
		return "text"
	case reflect.Bool:
		return "true or false"
	case reflect.Float64:
		return "number"
	case reflect.Slice:
		return "list"
	case reflect.Struct, reflect.Map:
		return "table"
	}
	return "whole number"
}

// suggest says what was probably meant, or what there is.
func suggest(word string, known []string) string {
	best, distance := "", 3
	for _, k := range known {
		if d := levenshtein.Distance(word, k, nil); d < distance {
			best, distance = k, d
		}
	}
	if best != "" {
		return "did you mean " + best + "?"
	}
	return "there are " + strings.Join(known, ", ")
}
