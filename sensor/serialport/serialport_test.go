package serialport

import (
	"context"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/line"
)

// begin opens a source on a pipe in place of a port.
func begin(t *testing.T, c Config) (*Source, *io.PipeWriter) {
	t.Helper()
	r, w := io.Pipe()
	s, err := start(c, r, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s, w
}

func say(t *testing.T, w io.Writer, text string) {
	t.Helper()
	if _, err := io.WriteString(w, text); err != nil {
		t.Fatal(err)
	}
	synctest.Wait()
}

// A controller that is cut off in the middle of a line, says hello and then
// prints its readings.
func TestNewestLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, w := begin(t, Defaults())
		say(t, w, "_pa\":12}\r\nhello from the shed\r\n{\"bag_pa\":16000}\r\n{\"bag_pa\":16001}\r\n{\"bag_pa\":16")
		got, err := s.Read(t.Context())
		if err != nil || got.Bag != 16001 {
			t.Errorf("got %+v, %v", got, err)
		}
		say(t, w, "002}\r\n")
		if got, err := s.Read(t.Context()); err != nil || got.Bag != 16002 || !got.Time.Equal(time.Now()) {
			t.Errorf("got %+v, %v", got, err)
		}
	})
}

func TestRows(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := Defaults()
		c.Columns = []string{"vacuum_pa", "glueline_c"}
		s, w := begin(t, c)
		say(t, w, "84000,12.5\n")
		if got, err := s.Read(t.Context()); err != nil || got.GaugeVacuum() != 84000 || got.GlueLine != 12.5 {
			t.Errorf("got %+v, %v", got, err)
		}
	})
}

func TestNoLineInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _ := begin(t, Defaults())
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		defer cancel()
		if _, err := s.Read(ctx); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
	})
}

func TestWrongSpeed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, w := begin(t, Defaults())
		say(t, w, strings.Repeat("\xfe\x80\x00\n", 10))
		if _, err := s.Read(t.Context()); !errors.Is(err, line.ErrNoLine) {
			t.Errorf("got %v", err)
		}
	})
}

func TestEnds(t *testing.T) {
	for name, text := range map[string]string{"unplugged": "", "no line ends": strings.Repeat("1", 5000)} {
		synctest.Test(t, func(t *testing.T) {
			s, w := begin(t, Defaults())
			go func() {
				_, _ = io.WriteString(w, text) // the reader gives up in the middle
				_ = w.Close()
			}()
			synctest.Wait()
			if _, err := s.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "the port has ended") {
				t.Errorf("%s: got %v", name, err)
			}
		})
	}
}

func TestOpenTeaches(t *testing.T) {
	c := Defaults()
	c.Port = "/dev/no-such-port"
	if _, err := Open(c, time.Now); err == nil || !strings.Contains(err.Error(), "group dialout") {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	good := Defaults()
	good.Port = "/dev/ttyACM0"
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func(*Config){
		"port":    func(c *Config) { c.Port = "" },
		"baud":    func(c *Config) { c.Baud = 0 },
		"columns": func(c *Config) { c.Columns = []string{"x"} },
		"nothing": func(c *Config) { c.Gives = nil },
		"reads":   func(c *Config) { c.Gives = []sensor.Quantity{"light"} },
	} {
		c := good
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
