// Package natssource reads a sensor that publishes its readings over NATS, or
// over MQTT through a NATS server's MQTT listener: a battery sensor on the bag,
// say, that sends a line every half minute and sleeps in between.
//
// A message is one line of package line. Protocols: docs.nats.io; MQTT 3.1.1
// (OASIS), whose topic shed/deck/bag is the subject shed.deck.bag.
//
// A message is stamped with the time it came. The daemon's own server takes MQTT
// when nats.mqtt_listen says where.
//
// How to publish, and the user's traps: README.md.
package natssource

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/line"
)

// Config says where the readings are published.
type Config struct {
	URL         string            `toml:"url" doc:"the server, several separated by commas; not given: the one that the daemon speaks through"`
	Subject     string            `toml:"subject" doc:"what the sensor publishes on; an MQTT topic with dots in place of slashes"`
	Credentials string            `toml:"credentials" doc:"path of a .creds file"`
	User        string            `toml:"user" doc:"user name, where the server wants one"`
	Password    string            `toml:"password" doc:"and its password"`
	Columns     []string          `toml:"columns" doc:"what the numbers of a row are, as [\"bag_pa\", \"glueline_c\"]; none: messages are JSON"`
	Gives       []sensor.Quantity `toml:"reads" doc:"what the messages tell: bag, ambient, glueline, air, humidity"`
	Pace        time.Duration     `toml:"every" doc:"how often a message comes"`
}

// Defaults is the server on this machine and a message every half minute.
func Defaults() Config {
	return Config{Gives: []sensor.Quantity{sensor.Bag}, Pace: 30 * time.Second}
}

// Check refuses what cannot be subscribed to.
func (c Config) Check() error {
	switch {
	case c.Subject == "":
		return errors.New("subject is missing: give what the sensor publishes on")
	case strings.ContainsAny(c.Subject, " \t/*>") || slices.Contains(strings.Split(c.Subject, "."), ""):
		return fmt.Errorf("subject is %q: give one subject, words separated by dots, without * and >; in place of an MQTT topic's slashes write dots", c.Subject)
	case c.Pace <= 0:
		return fmt.Errorf("every is %v: give how often a message comes", c.Pace)
	case len(c.Gives) == 0:
		return errors.New("reads is empty: give what the messages tell")
	}
	for _, q := range c.Gives {
		if !slices.Contains(sensor.Quantities(), q) {
			return fmt.Errorf("reads has %q: give bag, ambient, glueline, air or humidity", q)
		}
	}
	_, err := line.New(c.Columns)
	return err
}

// Reads is what the messages tell.
func (c Config) Reads() []sensor.Quantity { return c.Gives }

// Every is how often a message comes.
func (c Config) Every() time.Duration { return c.Pace }

// Timeout lets a few messages be lost before the connection is made anew.
func (c Config) Timeout() time.Duration { return max(10*time.Second, 4*c.Pace) }

// Source is an open subscription.
type Source struct {
	conn  *nats.Conn
	inbox *line.Inbox

	once   sync.Once
	closed chan struct{}
}

// Open connects and subscribes. A connection that is lost later is made again
// by itself.
func Open(ctx context.Context, c Config, now func() time.Time) (*Source, error) {
	parser, err := line.New(c.Columns)
	if err != nil {
		return nil, fmt.Errorf("nats source: %w", err)
	}
	patience := 5 * time.Second
	if deadline, ok := ctx.Deadline(); ok {
		patience = min(patience, time.Until(deadline))
	}
	options := []nats.Option{nats.Name("nightclamp sensor " + c.Subject), nats.Timeout(patience), nats.MaxReconnects(-1)}
	if c.Credentials != "" {
		options = append(options, nats.UserCredentials(c.Credentials))
	}
	if c.User != "" {
		options = append(options, nats.UserInfo(c.User, c.Password))
	}
	conn, err := nats.Connect(cmp.Or(c.URL, nats.DefaultURL), options...)
	if err != nil {
		// The URL may hold a password, so it is not told.
		return nil, fmt.Errorf("nats source: connecting for %s: %w; does the server run, and are url, user and credentials right?", c.Subject, err)
	}
	s := &Source{conn: conn, inbox: line.NewInbox(parser), closed: make(chan struct{})}
	conn.SetClosedHandler(func(*nats.Conn) { close(s.closed) })
	if _, err := conn.Subscribe(c.Subject, func(m *nats.Msg) { s.inbox.Put(now(), m.Data) }); err != nil {
		return nil, errors.Join(fmt.Errorf("nats source: subscribing to %s: %w", c.Subject, err), s.Close())
	}
	// A subscription that the server refuses is known only after a round trip.
	if err := conn.FlushTimeout(patience); err != nil {
		return nil, errors.Join(fmt.Errorf("nats source: subscribing to %s: %w", c.Subject, err), s.Close())
	}
	if err := conn.LastError(); err != nil {
		return nil, errors.Join(fmt.Errorf("nats source: subscribing to %s: %w", c.Subject, err), s.Close())
	}
	return s, nil
}

// Read returns the newest message that was not returned before, or waits for
// one.
func (s *Source) Read(ctx context.Context) (sensor.Sample, error) {
	sample, err := s.inbox.Take(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("nats source: %w", err)
	}
	return sample, nil
}

// Close ends the subscription and the connection. It may be called again.
func (s *Source) Close() error {
	s.once.Do(s.conn.Close)
	<-s.closed
	return nil
}
