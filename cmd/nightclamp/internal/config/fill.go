package config

import (
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

const (
	defaultBucket     = 10 * time.Second
	defaultFlush      = 2 * time.Minute
	defaultInterval   = time.Second
	defaultPing       = 5 * time.Minute
	defaultHeatingLag = 2 * time.Hour
)

// fill gives every press and way what the file does not say.
func (c *Config) fill(doc *document) {
	c.Data = beside(c.Path, c.Data)
	c.GlueFolder = beside(c.Path, c.GlueFolder)
	c.Record.Ramdisk = beside(c.Path, c.Record.Ramdisk)
	c.Record.BuildLog = beside(c.Path, c.Record.BuildLog)
	for _, path := range []*string{&c.HTTP.PasswordFile, &c.HTTP.GuestFile, &c.HTTP.Cert, &c.HTTP.Key} {
		*path = beside(c.Path, *path)
	}
	for _, path := range []*string{&c.NATS.Credentials, &c.NATS.PasswordFile, &c.NATS.TokenFile, &c.NATS.CA, &c.NATS.Cert, &c.NATS.Key} {
		*path = beside(c.Path, *path)
	}
	for i := range c.Presses {
		c.fillPress(doc, i)
	}
	c.Alert.Ping.URLFile = beside(c.Path, c.Alert.Ping.URLFile)
	for i := range c.Alert.Ways {
		w := &c.Alert.Ways[i]
		w.URLFile = beside(c.Path, w.URLFile)
		if w.AtLeast == "" {
			w.AtLeast = press.Warn
		}
	}
}

func (c *Config) fillPress(doc *document, i int) {
	p, at := &c.Presses[i], fmt.Sprintf("press[%d].", i)
	if !doc.has(at + "name") {
		p.Name = fmt.Sprintf("press%d", i+1)
	}
	if !doc.has(at + "glue") {
		p.Glue = c.Defaults.Glue
	}
	if !doc.has(at + "floor") {
		p.Floor = c.Defaults.Floor
	}
	if !doc.has(at + "strained") {
		p.Strained = c.Defaults.Strained
	}
	if !doc.has(at + "interval") {
		p.Interval = units.Duration(defaultInterval)
	}
	if !doc.has(at + "lag") {
		p.Lag = units.Duration(cure.DefaultLag * float64(time.Second))
	}
	p.Sensors = c.sensors(doc, p.Tables, at)
	p.Pump.fill(doc, at+"pump.", p.Floor, c.room())
}

// sensors takes name and driver out of each table; the rest is the driver's.
func (c *Config) sensors(doc *document, tables []map[string]any, at string) []Sensor {
	taken := map[string]bool{}
	for _, t := range tables {
		if name, ok := t["name"].(string); ok {
			taken[name] = true
		}
	}
	sensors := make([]Sensor, 0, len(tables))
	for i, t := range tables {
		s := Sensor{Keys: map[string]any{}}
		s.Where = fmt.Sprintf("%s:%d", c.Path, doc.line(fmt.Sprintf("%ssensor[%d]", at, i)))
		for key, value := range t {
			if key != "name" && key != "driver" {
				s.Keys[key] = value
			}
		}
		s.Driver, _ = t["driver"].(string) // validate complains of anything else
		var named bool
		if s.Name, named = t["name"].(string); !named {
			s.Name = unused(s.Driver, taken)
			taken[s.Name] = true
		}
		sensors = append(sensors, s)
	}
	return sensors
}

// unused is name, or name-2, name-3 … where others have it.
func unused(name string, taken map[string]bool) string {
	free := name
	for n := 2; taken[free]; n++ {
		free = fmt.Sprintf("%s-%d", name, n)
	}
	return free
}
