package config

import (
	"fmt"
	"io"
	"net"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"github.com/nightclamp/nightclamp/press/units"
)

// Show writes the configuration that is in force, with everything that the file
// left out, as a file of the same form. Secrets are hidden.
func (c *Config) Show(w io.Writer) error {
	data, err := toml.Marshal(c.written())
	if err != nil {
		return fmt.Errorf("write the config: %w", err)
	}
	if _, err := w.Write(data); err != nil {
		return fmt.Errorf("write the config: %w", err)
	}
	return nil
}

// written is c as somebody would have written it: no listen beside a server to
// join, no secret beside the file that it came from, and none shown. (The
// encoder asks no Secret for its text when the key may be left out.)
func (c *Config) written() *Config {
	w := *c
	if w.NATS.URL != "" {
		w.NATS.Listen = ""
	}
	w.NATS.Password = shownSecret(w.NATS.Password, w.NATS.PasswordFile)
	w.NATS.Token = shownSecret(w.NATS.Token, w.NATS.TokenFile)
	w.Alert.Alertmanager = shownSecret(w.Alert.Alertmanager, "")
	w.Alert.Ping.URL = shownSecret(w.Alert.Ping.URL, w.Alert.Ping.URLFile)
	w.Alert.Ways = slices.Clone(w.Alert.Ways)
	for i := range w.Alert.Ways {
		way := &w.Alert.Ways[i]
		way.URL = shownSecret(way.URL, way.URLFile)
	}
	return &w
}

func shownSecret(s Secret, file string) Secret {
	if file != "" {
		return ""
	}
	return Secret(s.String())
}

// Warnings lists what is allowed and still deserves a second thought.
func (c *Config) Warnings() []string {
	var all []string
	if host, _, err := net.SplitHostPort(c.HTTP.Listen); err == nil && !loopback(host) && c.HTTP.PasswordFile == "" && c.HTTP.UserHeader == "" {
		all = append(all, fmt.Sprintf("http.listen %s is open to the network, but the page lets in nobody from there: set http.password_file (nightclamp password makes it)", c.HTTP.Listen))
	}
	if strings.HasPrefix(c.HTTP.PublicURL, "http://") {
		all = append(all, fmt.Sprintf("http.public_url %s is not https: whoever listens on the way to it can answer alerts in your place", c.HTTP.PublicURL))
	}
	room := standardAtmosphere
	if c.StationPressure > 0 {
		room = c.StationPressure
	}
	for _, p := range c.Presses {
		if p.Floor > hardFloor*room {
			all = append(all, fmt.Sprintf("%s: floor %s leaves no more than %s for the weather and the pump in a room of %s",
				p.Name, p.Floor, room-p.Floor, room))
		}
	}
	all = append(all, c.doubts...)
	if err := c.CheckSensors(); err != nil {
		all = append(all, err.Error())
	}
	return all
}

// hardFloor is the share of the room's pressure above which a floor is hard to
// keep: a falling barometer and an ordinary pump's end vacuum use up the rest.
// Common practice, no source.
const hardFloor units.Pressure = 0.92
