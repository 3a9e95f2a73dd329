// Package serialport reads lines from a serial port: a microcontroller over
// USB, say, that prints its readings.
//
// The form of the lines is that of package line. There is no datasheet; the
// controller's sketch is yours. It should print a whole line at a fixed pace,
// once a second is good, and nothing else; a few odd lines, as after a reset,
// are passed over.
//
// Opening the port resets many controllers: the first line may take seconds.
//
// Wiring, a sketch and the user's traps: README.md.
package serialport

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"go.bug.st/serial"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/line"
)

// Config says which port it is and what comes over it.
type Config struct {
	Port    string            `toml:"port" doc:"the port, as /dev/serial/by-id/usb-…"`
	Baud    int               `toml:"baud" doc:"bits a second; USB devices do not mind"`
	Columns []string          `toml:"columns" doc:"what the numbers of a row are, as [\"bag_pa\", \"glueline_c\"]; none: lines are JSON"`
	Gives   []sensor.Quantity `toml:"reads" doc:"what the lines tell: bag, ambient, glueline, air, humidity"`
	Pace    time.Duration     `toml:"every" doc:"how often a line comes"`
}

// Defaults is JSON with the bag's pressure, once a second.
func Defaults() Config {
	return Config{Baud: 115200, Gives: []sensor.Quantity{sensor.Bag}, Pace: time.Second}
}

// Check refuses what cannot be read.
func (c Config) Check() error {
	if c.Port == "" {
		return errors.New("port is missing: give one, as /dev/serial/by-id/usb-…")
	}
	if c.Baud <= 0 || c.Pace <= 0 {
		return fmt.Errorf("baud %d and every %v must be above 0", c.Baud, c.Pace)
	}
	if len(c.Gives) == 0 {
		return errors.New("reads is empty: give what the lines tell")
	}
	for _, q := range c.Gives {
		if !slices.Contains(sensor.Quantities(), q) {
			return fmt.Errorf("reads has %q: give bag, ambient, glueline, air or humidity", q)
		}
	}
	_, err := line.New(c.Columns)
	return err
}

// Reads is what the lines tell.
func (c Config) Reads() []sensor.Quantity { return c.Gives }

// Every is how often a line comes.
func (c Config) Every() time.Duration { return c.Pace }

// Timeout is how long a line may take: a controller that was reset by opening
// the port needs its time.
func (c Config) Timeout() time.Duration { return max(10*time.Second, 3*c.Pace) }

// Source is an open port.
type Source struct {
	port  io.ReadCloser
	inbox *line.Inbox
	done  chan struct{}
}

// Open opens the port and begins to read its lines.
func Open(c Config, now func() time.Time) (*Source, error) {
	port, err := serial.Open(c.Port, &serial.Mode{BaudRate: c.Baud})
	if err != nil {
		return nil, fmt.Errorf("serialport: opening %s: %w; is it plugged in (ls /dev/serial/by-id), free, and the user in the group dialout?", c.Port, err)
	}
	return start(c, port, now)
}

func start(c Config, port io.ReadCloser, now func() time.Time) (*Source, error) {
	parser, err := line.New(c.Columns)
	if err != nil {
		return nil, fmt.Errorf("serialport: %w", errors.Join(err, port.Close()))
	}
	s := &Source{port: port, inbox: line.NewInbox(parser), done: make(chan struct{})}
	go s.follow(now)
	return s, nil
}

// follow reads lines until the port ends.
func (s *Source) follow(now func() time.Time) {
	defer close(s.done)
	scanner := bufio.NewScanner(s.port)
	scanner.Buffer(make([]byte, line.Longest), line.Longest)
	for scanner.Scan() {
		s.inbox.Put(now(), scanner.Bytes())
	}
	err := scanner.Err()
	if err == nil {
		err = io.ErrUnexpectedEOF
	}
	s.inbox.Fail(fmt.Errorf("the port has ended; was it unplugged? %w", err))
}

// Read returns the newest line that was not returned before, or waits for one.
func (s *Source) Read(ctx context.Context) (sensor.Sample, error) {
	sample, err := s.inbox.Take(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("serialport: %w", err)
	}
	return sample, nil
}

// Close closes the port and waits until its lines are no longer read.
func (s *Source) Close() error {
	err := s.port.Close()
	<-s.done
	return err
}
