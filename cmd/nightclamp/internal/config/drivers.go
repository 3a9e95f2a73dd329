package config

import (
	"errors"

	"github.com/nightclamp/nightclamp/sensor/drivers"
)

// BuiltIn is the table of the drivers that are compiled in.
func BuiltIn() Drivers { return builtIn{} }

type builtIn struct{}

func (builtIn) Names() []string {
	var names []string
	for _, d := range drivers.Table() {
		names = append(names, d.Name)
	}
	return names
}

// Check configures the part, which touches no hardware, and drops it.
func (builtIn) Check(driver string, keys map[string]any) error {
	d, err := drivers.Find(driver)
	if err != nil {
		return err
	}
	_, err = d.Configure(drivers.Env{}, drivers.Options(keys))
	var option *drivers.OptionError
	if errors.As(err, &option) {
		return keyFault{error: err, key: option.Key}
	}
	return err
}

// keyFault is an error about one key of a sensor.
type keyFault struct {
	error
	key string
}

func (f keyFault) Key() string   { return f.key }
func (f keyFault) Unwrap() error { return f.error }
