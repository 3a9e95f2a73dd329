package scan

import (
	"context"
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Options say where to look.
type Options struct {
	Root string    // the machine's file tree; empty: /
	Host *bus.Host // the machine's I²C buses
	// Buses are the numbers of the I²C buses to ask, as "1"; none: every one
	// that may have a sensor.
	Buses    []string
	Identify bool // also ask for identities, which writes one byte
}

// Find is something that was found.
type Find struct {
	Where   string   `json:"where"`
	What    string   `json:"what"`
	Drivers []string `json:"drivers"`          // which may read it, the likelier first; none: no driver of ours
	Config  string   `json:"config,omitempty"` // proposed lines for the likeliest
	Note    string   `json:"note,omitempty"`
}

// Report is what a scan found and did.
type Report struct {
	Finds    []Find   `json:"finds"`
	Did      []string `json:"did"`      // what was done, and what was left alone
	Problems []string `json:"problems"` // what could not be looked at, with the remedy
}

func (r *Report) did(format string, args ...any) {
	r.Did = append(r.Did, fmt.Sprintf(format, args...))
}

func (r *Report) problem(format string, args ...any) {
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

// Scan looks everywhere. It ends early, with what it has, when ctx ends.
func Scan(ctx context.Context, o Options) Report {
	r := Report{Finds: []Find{}, Did: []string{}, Problems: []string{}}
	o.buses(ctx, &r)
	o.oneWire(&r)
	o.iio(&r)
	o.hwmon(&r)
	o.serial(&r)
	return r
}

// table writes a [[press.sensor]] table.
func table(driver string, lines ...string) string {
	return strings.Join(append([]string{"[[press.sensor]]", fmt.Sprintf("driver = %q", driver)}, lines...), "\n")
}
