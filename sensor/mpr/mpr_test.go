package mpr

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// part behaves as the datasheet says: it sleeps, converts when asked, is busy
// for some reads and then has its answer.
type part struct {
	count     uint32
	extra     byte // status bits besides
	busyReads int  // how many reads find it busy
	busy      int
	asked     bool
}

func (p *part) Tx(w, r []byte) error {
	if len(w) > 0 {
		p.asked = len(w) == 3 && w[0] == 0xAA && w[1] == 0 && w[2] == 0
		p.busy = p.busyReads
	}
	if len(r) == 0 {
		return nil
	}
	status := byte(statusPowered) | p.extra
	if p.busy > 0 || !p.asked {
		p.busy--
		status |= statusBusy
	}
	copy(r, []byte{status, byte(p.count >> 16), byte(p.count >> 8), byte(p.count)})
	return nil
}

func open(t *testing.T, h *bus.Host, c Config) *Part {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	p, err := Open(h, c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The transfer function's own ends (10 and 90 % of 2^24 are 0 and 25 psi), its
// middle, and a count in between worked out by hand.
func TestTransfer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		chip := &part{}
		p := open(t, bustest.New(map[uint16]bustest.Part{0x18: chip}).Host(), Defaults())
		for _, c := range []struct {
			count uint32
			pa    float64
		}{{1677722, 0}, {15099494, 172368.9}, {0x800000, 86184.5}, {0x49F49F, 40698.2}} {
			chip.count = c.count
			s, err := p.Read(t.Context())
			if err != nil || math.Abs(s.Bag-c.pa) > 0.05 {
				t.Errorf("count %d: got %v Pa, %v, want %v", c.count, s.Bag, err, c.pa)
			}
			if want := fmt.Sprintf("%d counts", c.count); p.Raw() != want {
				t.Errorf("raw is %q, want %q", p.Raw(), want)
			}
			if s.Quality != 0 || s.Knows(sensor.Ambient) || s.Knows(sensor.Air) || !s.Time.Equal(time.Now()) {
				t.Errorf("count %d: got %+v", c.count, s)
			}
		}
	})
}

func TestTransferBAndC(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for letter, share := range map[string]float64{"B": 0.125, "C": 0.5} { // the middle of each
			c := Defaults()
			c.Transfer, c.MinPa, c.MaxPa = letter, 10000, 110000
			chip := &part{count: uint32(share * (1 << 24))}
			p := open(t, bustest.New(map[uint16]bustest.Part{0x18: chip}).Host(), c)
			if s, err := p.Read(t.Context()); err != nil || math.Abs(s.Bag-60000) > 0.1 {
				t.Errorf("transfer %s: got %v Pa, %v", letter, s.Bag, err)
			}
		}
	})
}

// Every byte on the wire, with a part that is busy once.
func TestWire(t *testing.T) {
	h := bustest.Playback(
		i2ctest.IO{Addr: 0x28, W: []byte{0xAA, 0x00, 0x00}},
		i2ctest.IO{Addr: 0x28, R: []byte{0x60, 0x12, 0x34, 0x56}},
		i2ctest.IO{Addr: 0x28, R: []byte{0x40, 0x80, 0x00, 0x00}},
	)
	c := Defaults()
	c.Address = 0x28
	p := open(t, h, c)
	s, err := p.Read(t.Context())
	if err != nil || math.Abs(s.Bag-86184.5) > 0.05 {
		t.Errorf("got %v Pa, %v", s.Bag, err)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

func TestStatus(t *testing.T) {
	for _, c := range []struct {
		name   string
		answer []byte
		want   error
	}{
		{"no pull-ups", []byte{0xFF, 0xFF, 0xFF, 0xFF}, ErrNotMPR},
		{"no supply", []byte{0x00, 0x00, 0x00, 0x00}, ErrUnpowered},
		{"memory", []byte{0x44, 0x80, 0x00, 0x00}, ErrIntegrity},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := bustest.Playback(
				i2ctest.IO{Addr: 0x18, W: []byte{0xAA, 0x00, 0x00}},
				i2ctest.IO{Addr: 0x18, R: c.answer},
			)
			if _, err := open(t, h, Defaults()).Read(t.Context()); !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
		})
	}
}

func TestSaturatedIsARemarkNotAnError(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		chip := &part{count: 1 << 23, extra: statusSaturated}
		p := open(t, bustest.New(map[uint16]bustest.Part{0x18: chip}).Host(), Defaults())
		if s, err := p.Read(t.Context()); err != nil || !s.Quality.Has(sensor.Saturated) {
			t.Errorf("got %+v, %v", s, err)
		}
	})
}

// A part that stays busy must not be waited for longer than a conversion can
// possibly take.
func TestBusyIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		chip := &part{busyReads: 1 << 30}
		p := open(t, bustest.New(map[uint16]bustest.Part{0x18: chip}).Host(), Defaults())
		begin := time.Now()
		_, err := p.Read(t.Context())
		if took := time.Since(begin); !errors.Is(err, ErrBusy) || took > 60*time.Millisecond {
			t.Errorf("got %v after %v", err, took)
		}
	})
}

func TestCancelled(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		chip := &part{busyReads: 1 << 30}
		p := open(t, bustest.New(map[uint16]bustest.Part{0x18: chip}).Host(), Defaults())
		ctx, cancel := context.WithTimeout(t.Context(), 8*time.Millisecond)
		defer cancel()
		if _, err := p.Read(ctx); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
	})
}

func TestBusErrors(t *testing.T) {
	b := bustest.New(map[uint16]bustest.Part{0x18: &part{}})
	p := open(t, b.Host(), Defaults())
	b.Fail(syscall.ETIMEDOUT)
	if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "held down") {
		t.Errorf("stuck bus: %v", err)
	}
	c := Defaults()
	c.Address = 0x19
	if _, err := open(t, b.Host(), c).Read(t.Context()); err == nil {
		t.Error("wrong address: no error")
	}
	b.Fail(nil)
	if _, err := open(t, b.Host(), c).Read(t.Context()); err == nil || !strings.Contains(err.Error(), "address 0x19") {
		t.Errorf("wrong address: %v", err)
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"transfer": func(c *Config) { c.Transfer = "D" },
		"range":    func(c *Config) { c.MaxPa = 0 },
		"gauge":    func(c *Config) { c.MinPa = -100000 },
		"1 psi":    func(c *Config) { c.MaxPa = psi },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: impossible part was accepted", name)
		}
	}
}
