package calibration

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Schema is the version of the file. It goes up when a field changes its meaning.
const Schema = 1

// File is the name of the file in the data folder.
const File = "calibration.json"

// Kind is what an entry corrects.
type Kind string

// The kinds.
const (
	Zero        Kind = "zero"
	Span        Kind = "span"
	Temperature Kind = "temperature"
)

// Entry is one thing that was found about a sensor.
type Entry struct {
	At       time.Time       `json:"at"`
	Press    string          `json:"press"`
	Sensor   string          `json:"sensor"` // its name on the press
	Quantity sensor.Quantity `json:"quantity"`
	Kind     Kind            `json:"kind"`
	Gauge    bool            `json:"gauge,omitempty"` // the part measures against the room

	OffsetPa float64 `json:"offset_pa,omitempty"` // of a zero: what is added; of a gauge part to its vacuum
	Factor   float64 `json:"factor,omitempty"`    // of a span
	PivotPa  float64 `json:"pivot_pa,omitempty"`  // of a span: the pressure that it leaves alone
	PaPerK   float64 `json:"pa_per_k,omitempty"`  // of a temperature: what is added for each kelvin …
	AtC      float64 `json:"at_c,omitempty"`      // … of the air above this

	ReadPa  float64 `json:"read_pa"`             // what the sensor said, before this entry
	KnownPa float64 `json:"known_pa"`            // what it should have said
	ErrorPa float64 `json:"error_pa"`            // how sure that is, Pa (of a temperature: Pa/K), one standard deviation
	Against string  `json:"against"`             // by what that is known
	Note    string  `json:"note,omitempty"`      // the builder's
	Undone  string  `json:"undone,omitempty"`    // why; empty: it is in force, or a newer one is
	EndedAt string  `json:"undone_at,omitempty"` // RFC 3339
}

// InForce reports whether nobody has undone the entry.
func (e Entry) InForce() bool { return e.EndedAt == "" }

// about reports whether the entry is about that sensor.
func (e Entry) about(press, name string) bool { return e.Press == press && e.Sensor == name }

// What no sound sensor needs; beyond it the part is another than the config says.
const (
	MostOffset = 5e3  // Pa
	MostSpan   = 0.1  // share
	MostPerK   = 60.0 // Pa/K
)

// Check refuses what cannot be a calibration.
func (e Entry) Check() error {
	for _, v := range []float64{e.OffsetPa, e.Factor, e.PivotPa, e.PaPerK, e.AtC, e.ReadPa, e.KnownPa, e.ErrorPa} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return errors.New("a number of it is none")
		}
	}
	switch {
	case e.Press == "" || e.Sensor == "":
		return errors.New("it names no press or no sensor")
	case e.Quantity != sensor.Bag && e.Quantity != sensor.Ambient:
		return fmt.Errorf("it is about %q; only pressures are calibrated", e.Quantity)
	case e.Kind == Zero && math.Abs(e.OffsetPa) > MostOffset:
		return fmt.Errorf("the zero is off by %.1f kPa, which no sound part is: is the line open, and the part that of the config (range, absolute or gauge)?", e.OffsetPa/1e3)
	case e.Kind == Span && math.Abs(e.Factor-1) > MostSpan:
		return fmt.Errorf("the span is off by %.0f %%, which no sound part is: is the known pressure right (absolute, not vacuum), and the part's range in the config?", 100*(e.Factor-1))
	case e.Kind == Temperature && math.Abs(e.PaPerK) > MostPerK:
		return fmt.Errorf("the drift is %.0f Pa/K, which no sound part has", e.PaPerK)
	case math.Abs(e.PivotPa) > 2e5 || math.Abs(e.AtC) > 100:
		return fmt.Errorf("it turns about %.0f Pa and %.0f °C, which no room has", e.PivotPa, e.AtC)
	case e.Kind != Zero && e.Kind != Span && e.Kind != Temperature:
		return fmt.Errorf("its kind is %q; there are zero, span and temperature", e.Kind)
	}
	return nil
}

// Book is all that was found, in the order in which it was.
type Book struct {
	Schema  int     `json:"schema"`
	Entries []Entry `json:"entries"`
}

// Load reads the file; there is an empty book where there is none.
func Load(path string) (Book, error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Book{Schema: Schema}, nil
	}
	if err != nil {
		return Book{}, fmt.Errorf("calibration: %w; let nightclamp's user read it", err)
	}
	b, err := Parse(text)
	if err != nil {
		return Book{}, fmt.Errorf("calibration %s: %w; mend it, or move it away to go on without", path, err)
	}
	return b, nil
}

// Parse reads a book and checks every entry.
func Parse(text []byte) (Book, error) {
	var b Book
	if err := json.Unmarshal(text, &b); err != nil {
		return Book{}, err
	}
	if b.Schema != Schema {
		return Book{}, fmt.Errorf("it is of form %d, and this nightclamp knows %d", b.Schema, Schema)
	}
	for i, e := range b.Entries {
		if err := e.Check(); err != nil {
			return Book{}, fmt.Errorf("entry %d: %w", i+1, err)
		}
	}
	return b, nil
}

// Save writes the file whole or not at all, readable by group as the record is, and
// for the owner of its folder, so that root may calibrate and the daemon read.
func (b Book) Save(path string) (err error) {
	b.Schema = Schema
	text, err := json.MarshalIndent(b, "", "  ")
	if err != nil {
		return fmt.Errorf("calibration: %w", err)
	}
	file, err := os.CreateTemp(filepath.Dir(path), ".calibration-*")
	if err != nil {
		return fmt.Errorf("calibration: %w; run it as nightclamp's user or as root (sudo)", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("calibration %s: %w", path, err), file.Close(), os.Remove(file.Name()))
		}
	}()
	if _, err := file.Write(append(text, '\n')); err != nil {
		return err
	}
	if err := errors.Join(file.Chmod(0o640), likeFolder(file), file.Sync()); err != nil {
		return err
	}
	if err := os.Rename(file.Name(), path); err != nil {
		return err
	}
	return file.Close()
}

// Add appends an entry.
func (b *Book) Add(e Entry) error {
	if err := e.Check(); err != nil {
		return err
	}
	b.Entries = append(b.Entries, e)
	return nil
}

// Undo ends the newest entry about a sensor that is in force, and returns it.
func (b *Book) Undo(press, name string, at time.Time, why string) (Entry, error) {
	for i := len(b.Entries) - 1; i >= 0; i-- {
		e := &b.Entries[i]
		if e.about(press, name) && e.InForce() {
			e.EndedAt, e.Undone = at.UTC().Format(time.RFC3339), why
			return *e, nil
		}
	}
	return Entry{}, fmt.Errorf("nothing of sensor %s of press %s is calibrated, so there is nothing to undo", name, press)
}
