package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"

	"github.com/nightclamp/nightclamp/press"
)

// maxOrder is the largest order that is read, bytes.
const maxOrder = 32 << 10

// decode reads one strict JSON object into order. An empty payload is an order
// with nothing in it. The error is a [press.Error] that says what is wrong and
// what may stand there.
func decode(verb string, data []byte, order any) error {
	if len(data) > maxOrder {
		return press.Errorf(press.BadOrder, "%s: the order has %d bytes; at most %d are read", verb, len(data), maxOrder)
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return nil
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(order); err != nil {
		return press.Errorf(press.BadOrder, "%s: %s", verb, plainly(err, order))
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return press.Errorf(press.BadOrder, "%s: something follows the order; send one JSON object", verb)
	}
	return nil
}

// plainly says what encoding/json means.
func plainly(err error, order any) string {
	if name, unknown := strings.CutPrefix(err.Error(), "json: unknown field "); unknown {
		return fmt.Sprintf("unknown field %s; the order takes %s", name, strings.Join(fields(order), ", "))
	}
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		if kind.Field == "" {
			return fmt.Sprintf("the order is a JSON %s; send an object", kind.Value)
		}
		return fmt.Sprintf("field %q is a %s; it takes a %s", kind.Field, kind.Value, kind.Type)
	}
	return fmt.Sprintf("not a JSON object: %v", err)
}

// fields lists the JSON names of an order's fields.
func fields(order any) []string {
	var names []string
	t := reflect.TypeOf(order).Elem()
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		names = append(names, name)
	}
	return names
}

// pressOrder names a press, or none for every press.
type pressOrder struct {
	Press string `json:"press"`
}

// pressToken checks that the press of an order can exist at all, because its
// name becomes part of a subject and of file names.
func pressToken(verb, name string) error {
	if name == "" {
		return nil
	}
	if err := ValidToken(name); err != nil {
		return press.Errorf(press.BadOrder, "%s: press: %v", verb, err)
	}
	return nil
}
