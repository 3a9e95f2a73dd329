package drivers

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"
)

// literal writes a default as the config file has it; empty when there is
// nothing to write: no text, no list, no time.
func literal(key string, v reflect.Value) string {
	switch value := v.Interface().(type) {
	case time.Duration:
		return strconv.Quote(duration(value))
	case time.Time:
		if value.IsZero() {
			return ""
		}
		return value.Format(time.RFC3339)
	}
	switch v.Kind() {
	case reflect.String:
		return text(v.String())
	case reflect.Float64:
		return number(key, v.Float())
	case reflect.Slice:
		return list(v)
	case reflect.Struct:
		return inline(v)
	}
	if v.CanInt() && (key == "address" || strings.HasSuffix(key, ".address")) {
		return fmt.Sprintf("0x%02x", v.Int())
	}
	return fmt.Sprint(v.Interface())
}

func text(s string) string {
	if s == "" {
		return ""
	}
	return strconv.Quote(s)
}

// duration is d without the zeros that Go writes behind it: 1h, not 1h0m0s.
func duration(d time.Duration) string {
	s := d.String()
	if strings.HasSuffix(s, "m0s") {
		s = strings.TrimSuffix(s, "0s")
	}
	if strings.HasSuffix(s, "h0m") {
		s = strings.TrimSuffix(s, "0m")
	}
	return s
}

// number is v as short as it can be written. Large pressures are rounded to
// 0.1 Pa: -14.5 psi are -99973.980750936 Pa, and no part is as good as that.
func number(key string, v float64) string {
	if strings.HasSuffix(key, "_pa") && math.Abs(v) >= 1000 {
		v = math.Round(v*10) / 10
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func list(v reflect.Value) string {
	if v.Len() == 0 {
		return ""
	}
	items := make([]string, v.Len())
	for i := range items {
		items[i] = literal("", v.Index(i))
	}
	return "[" + strings.Join(items, ", ") + "]"
}

// inline is a struct as an inline table, without the fields that are zero.
func inline(v reflect.Value) string {
	var items []string
	for i := range v.NumField() {
		key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("toml"), ",")
		if key != "" && !v.Field(i).IsZero() {
			items = append(items, key+" = "+literal(key, v.Field(i)))
		}
	}
	return "{" + strings.Join(items, ", ") + "}"
}
