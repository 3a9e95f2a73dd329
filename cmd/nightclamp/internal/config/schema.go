package config

import (
	"encoding"
	"reflect"
	"slices"
	"strings"
)

// schema is what may stand at one place of the file, worked out from the
// structs so that it cannot drift from them.
type schema struct {
	kind   schemaKind
	value  reflect.Type       // of a leaf
	fields map[string]*schema // of a table and of the tables in a list
	names  []string           // of the fields, in the order of the struct
}

type schemaKind int

const (
	leaf  schemaKind = iota // one value
	table                   // [table]
	list                    // [[table]]
	free                    // [[table]] whose keys are somebody else's
)

// schemaOf reads the struct tags of t.
func schemaOf(t reflect.Type) *schema {
	text := reflect.TypeFor[encoding.TextUnmarshaler]()
	switch {
	case reflect.PointerTo(t).Implements(text):
		return &schema{kind: leaf, value: t}
	case t.Kind() == reflect.Struct:
		s := &schema{kind: table, fields: map[string]*schema{}}
		for i := range t.NumField() {
			f := t.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
			if name == "" || name == "-" {
				continue
			}
			s.fields[name] = schemaOf(f.Type)
			s.names = append(s.names, name)
		}
		return s
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
		s := schemaOf(t.Elem())
		s.kind = list
		return s
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Map:
		return &schema{kind: free}
	}
	return &schema{kind: leaf, value: t}
}

// home names the tables, other than the one at hand, that have a key of this
// name: somebody who writes floor at the top means one of them.
func (s *schema) home(name string) []string {
	var homes []string
	var look func(s *schema, at string)
	look = func(s *schema, at string) {
		for _, n := range s.names {
			f := s.fields[n]
			if n == name && at != "" && f.kind == leaf {
				homes = append(homes, s.brackets(at))
			}
			look(f, strings.TrimPrefix(at+"."+n, "."))
		}
	}
	look(s, "")
	slices.Sort(homes)
	return slices.Compact(homes)
}

// brackets writes the header of this table.
func (s *schema) brackets(at string) string {
	if s.kind == list || s.kind == free {
		return "[[" + at + "]]"
	}
	return "[" + at + "]"
}
