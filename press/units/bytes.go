package units

import (
	"fmt"
	"math"
	"strings"
)

// Bytes is an amount of data.
type Bytes int64

const bytesNames = "kB, MB, GB, MiB, GiB"

// ParseBytes reads an amount of data with its unit, such as "200MB" (decimal, as
// disks are sold) or "1 GiB" (binary, IEC 80000-13).
func ParseBytes(text string) (Bytes, error) {
	v, symbol, err := split(text, "size", bytesNames)
	if err != nil {
		return 0, err
	}
	size, ok := map[string]float64{"kb": 1e3, "mb": 1e6, "gb": 1e9, "mib": 1 << 20, "gib": 1 << 30}[strings.ToLower(symbol)]
	if !ok {
		return 0, fmt.Errorf("size %q: unknown unit %q: use one of %s", text, symbol, bytesNames)
	}
	if v < 0 || v*size > 1e18 {
		return 0, fmt.Errorf("size %q is not what a disk has", text)
	}
	return Bytes(math.Round(v * size)), nil
}

// String writes the size so that [ParseBytes] reads the very same.
func (b Bytes) String() string { return plain(float64(b)/1e6) + "MB" }

// Set reads the size from a flag.
func (b *Bytes) Set(text string) error {
	v, err := ParseBytes(text)
	if err != nil {
		return err
	}
	*b = v
	return nil
}

// Type names the kind of value in a command's help.
func (b *Bytes) Type() string { return "size" }

// UnmarshalText reads what [ParseBytes] reads.
func (b *Bytes) UnmarshalText(text []byte) error { return b.Set(string(text)) }

// MarshalText writes what [Bytes.String] writes.
func (b Bytes) MarshalText() ([]byte, error) { return []byte(b.String()), nil }
