package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"reflect"

	"github.com/pelletier/go-toml/v2"
)

// mostBytes is more than any configuration has.
const mostBytes = 1 << 20

// Drivers is the table of drivers, as far as the config must know it.
type Drivers interface {
	// Names returns the names of all drivers.
	Names() []string
	// Check reports what is wrong with a sensor's keys, joined when it is more
	// than one thing. An error that speaks of one key has a method Key() string.
	Check(driver string, keys map[string]any) error
}

// Load reads the file at path; with an empty path the one that [Find] finds, or
// [Default] when there is none. What is wrong is returned all at once: joined
// errors of type [*Fault], in the order of their lines.
//
// With nil drivers the sensors' own keys are not checked.
func Load(path string) (*Config, error) {
	if path == "" {
		found, err := Find()
		if err != nil {
			return nil, err
		}
		if found == "" {
			return Default(), nil
		}
		path = found
	}
	data, err := read(path)
	if err != nil {
		return nil, err
	}
	return Parse(path, data, BuiltIn())
}

func read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read config %q: no such file; nightclamp config sample prints one to start from: %w", path, err)
	}
	if err != nil {
		return nil, fmt.Errorf("read config: %w", allowed(err))
	}
	defer f.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read config %q: %w", path, err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("read config %q: more than %d bytes; that is no config", path, mostBytes)
	}
	return data, nil
}

// Parse reads a configuration out of data; path is its name for errors, and
// the folder that relative paths in it start from. With nil drivers the keys
// of the sensors are not checked.
func Parse(path string, data []byte, drivers Drivers) (*Config, error) {
	if err := syntax(path, data); err != nil {
		return nil, err
	}
	f := &faults{file: path, doc: readDocument(data)}
	f.strict(schemaOf(reflect.TypeFor[Config]()))
	if len(f.list) > 0 {
		f.further(data, drivers)
		return nil, f.err()
	}
	c, err := f.meaning(data, drivers)
	if err != nil {
		return nil, err
	}
	if err := f.err(); err != nil {
		return nil, err
	}
	return c, nil
}

// further looks, after what is wrong with single lines, at what the rest means: all
// that is wrong is to be said at once. It gives up where the lines cannot be left out
// without changing what the others say.
func (f *faults) further(data []byte, drivers Drivers) {
	lines := bytes.Split(data, []byte("\n"))
	for _, fault := range f.list {
		if fault.Line < 1 || fault.Line > len(lines) || bytes.HasPrefix(bytes.TrimSpace(lines[fault.Line-1]), []byte("[")) {
			return
		}
		lines[fault.Line-1] = nil
	}
	rest := bytes.Join(lines, []byte("\n"))
	if syntax(f.file, rest) != nil {
		return
	}
	g := &faults{file: f.file, doc: readDocument(rest)}
	if g.strict(schemaOf(reflect.TypeFor[Config]())); len(g.list) > 0 {
		return
	}
	if _, err := g.meaning(rest, drivers); err == nil {
		f.list = append(f.list, g.list...)
	}
}

// meaning reads what the lines, each of which is right, mean together.
func (f *faults) meaning(data []byte, drivers Drivers) (*Config, error) {
	path := f.file
	c := base()
	if err := toml.Unmarshal(data, c); err != nil { // strict has seen to it
		return nil, fmt.Errorf("read config %q: %w", path, err)
	}
	c.Path = path
	if len(c.Presses) == 0 {
		c.Presses = []Press{{}}
	}
	if path == systemFile && !f.doc.has("data") && os.Getenv("STATE_DIRECTORY") == "" {
		c.Data = systemData // who asks beside the daemon means the daemon's record
	}
	c.fill(f.doc)
	f.validate(c, drivers)
	return c, nil
}

// syntax reports text that is no TOML, or says the same thing twice.
func syntax(path string, data []byte) error {
	var anything map[string]any
	err := toml.Unmarshal(data, &anything)
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		line, column := bad.Position()
		return &Fault{File: path, Line: line, Text: fmt.Sprintf("column %d: %s", column, bad.Error())}
	}
	if err != nil {
		return &Fault{File: path, Text: err.Error()}
	}
	return nil
}
