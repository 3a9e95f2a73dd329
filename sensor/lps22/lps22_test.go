package lps22

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// The worked example of the LPS22HB datasheet: 0x3FF58D is 4191629, which is
// 1023.3 hPa.
func TestDatasheetExample(t *testing.T) {
	if got := pascal([]byte{0x8D, 0xF5, 0x3F}); math.Abs(got-102330) > 10 || math.Abs(got-4191629.0/40.96) > 1e-6 {
		t.Errorf("got %v Pa", got)
	}
}

// chip is the part at register level: no conversions before it is set up.
type chip struct{ bustest.Registers }

func newChip(who byte) *chip {
	c := &chip{}
	c.Bytes[regWho] = who
	return c
}

func (c *chip) Tx(w, r []byte) error {
	if err := c.Registers.Tx(w, r); err != nil {
		return err
	}
	if len(w) == 2 && w[0] == regControl && w[1]>>4 != 0 {
		c.put(0x3FF58D, 1234)
	}
	return nil
}

func (c *chip) put(pressure int32, temperature int16) {
	copy(c.Bytes[regStatus:], []byte{
		hasAll, byte(pressure), byte(pressure >> 8), byte(pressure >> 16), byte(temperature), byte(uint16(temperature) >> 8),
	})
}

func TestRead(t *testing.T) {
	for _, who := range []byte{whoHB, whoHH} {
		synctest.Test(t, func(t *testing.T) {
			c := newChip(who)
			p, err := Open(t.Context(), bustest.New(map[uint16]bustest.Part{0x5D: c}).Host(), Defaults(), time.Now)
			if err != nil {
				t.Fatal(err)
			}
			s, err := p.Read(t.Context())
			if err != nil || math.Abs(s.Ambient-102330) > 10 || s.Air != 12.34 || s.Knows(sensor.Bag) {
				t.Errorf("got %+v, %v", s, err)
			}
			c.put(0x3FF58D, -525)
			if s, err := p.Read(t.Context()); err != nil || s.Air != -5.25 {
				t.Errorf("got %+v, %v", s, err)
			}
			c.put(16000*4096/100, 1000)
			if _, err := p.Read(t.Context()); !errors.Is(err, ErrRange) {
				t.Errorf("in the bag: got %v", err)
			}
			c.Bytes[regStatus] = 0
			if _, err := p.Read(t.Context()); !errors.Is(err, ErrStill) {
				t.Errorf("nothing new: got %v", err)
			}
		})
	}
}

func TestFaults(t *testing.T) {
	h := bustest.New(map[uint16]bustest.Part{0x5D: newChip(0xBD)}).Host()
	if _, err := Open(t.Context(), h, Defaults(), time.Now); !errors.Is(err, ErrNotLPS22) {
		t.Errorf("another part: got %v", err)
	}
	c := Defaults()
	c.Address = 0x5C
	if _, err := Open(t.Context(), h, c, time.Now); err == nil || !strings.Contains(err.Error(), "address 0x5c") {
		t.Errorf("wrong address: got %v", err)
	}
	c.Air = false
	if len(c.Reads()) != 1 {
		t.Errorf("reads %v", c.Reads())
	}
}
