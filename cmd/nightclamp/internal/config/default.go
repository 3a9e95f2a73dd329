package config

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

const (
	clock24 = "24h"
	clock12 = "12h"

	localZone = "Local"
)

// Default is the configuration without a file: one press without a sensor,
// everything on loopback.
func Default() *Config {
	c := base()
	c.Presses = []Press{{}}
	c.fill(&document{})
	return c
}

// base holds the defaults of everything but the presses.
func base() *Config {
	return &Config{
		Site:    "shop",
		Data:    dataFolder(),
		Display: Display{Timezone: localZone, Clock: clock24},
		// Ports from 9100 on are where Prometheus users look for metrics.
		HTTP: HTTP{Listen: "127.0.0.1:9120"},
		NATS: NATS{Listen: "127.0.0.1:4222", JetStream: true},
		Record: Record{
			Bucket: units.Duration(defaultBucket),
			Flush:  units.Duration(defaultFlush),
		},
		Alert:    Alert{Ping: Ping{Every: units.Duration(defaultPing)}},
		Shop:     Shop{HeatingLag: units.Duration(defaultHeatingLag)},
		Pins:     Pins{Short: MeansAcknowledge, Double: MeansTopUp, Long: MeansLayup},
		Defaults: Defaults{Floor: units.Pressure(press.DefaultFloor), Strained: true},
	}
}

// dataFolder is where the record belongs when nobody says: the folder that
// systemd made for the unit, else the user's state folder.
func dataFolder() string {
	if dirs := filepath.SplitList(os.Getenv("STATE_DIRECTORY")); len(dirs) > 0 && dirs[0] != "" {
		return dirs[0]
	}
	if dir := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "nightclamp")
	}
	if home, err := os.UserHomeDir(); err == nil {
		return filepath.Join(home, ".local", "state", "nightclamp")
	}
	return systemData
}

// Where the package has the config, and the record of the daemon that goes by it.
const (
	systemFile = "/etc/nightclamp/nightclamp.toml"
	systemData = "/var/lib/nightclamp"
)

// Places lists where [Find] looks for the file, in order.
func Places() []string {
	places := []string{systemFile}
	if dir, err := os.UserConfigDir(); err == nil {
		places = append([]string{filepath.Join(dir, "nightclamp", "nightclamp.toml")}, places...)
	}
	return places
}

// Find returns the first file of [Places] that is there, "" when none is. The
// system's file that is there and cannot be looked at is an error, not a reason
// to go on with defaults. A home that cannot be entered is somebody else's
// (runuser and the like keep HOME) and is passed over.
func Find() (string, error) {
	places := Places()
	for i, place := range places {
		_, err := os.Stat(place)
		switch {
		case err == nil:
			return place, nil
		case errors.Is(err, fs.ErrNotExist):
		case errors.Is(err, fs.ErrPermission) && i < len(places)-1:
		default:
			return "", fmt.Errorf("look for a config file: %w", allowed(err))
		}
	}
	return "", nil
}

// allowed says what to do about a file that may not be read: the package gives its
// files to the group nightclamp.
func allowed(err error) error {
	if errors.Is(err, fs.ErrPermission) {
		return fmt.Errorf("%w; use sudo, or become one of the group nightclamp (sudo usermod -aG nightclamp $USER, then log in again), or name another with --config", err)
	}
	return fmt.Errorf("%w; name another with --config", err)
}

// CheckSensors is an error that says how to go on when no press has a sensor.
func (c *Config) CheckSensors() error {
	for _, p := range c.Presses {
		if len(p.Sensors) > 0 {
			return nil
		}
	}
	where := c.Path
	if where == "" {
		where = Places()[len(Places())-1]
	}
	return fmt.Errorf("no sensor is configured, so there is nothing to watch: add a [[press.sensor]] table to %s"+
		" (nightclamp config sample prints a file with every key), or try nightclamp demo", where)
}
