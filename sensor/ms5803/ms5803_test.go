package ms5803

import (
	"errors"
	"math"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// The worked examples of the datasheets (their tables of typical coefficients
// and raw values), without the corrections of second order. The MS5803-14BA's,
// MS5837-02BA's and MS5837-30BA's are from copies of the sheets; those of the
// MS5611, MS5803-01BA and MS5803-02BA from memory.
var examples = []struct {
	model   string
	c       [8]uint16
	d1, d2  uint32
	pa      float64
	celsius float64
}{
	{"ms5611", [8]uint16{1: 40127, 36924, 23317, 23282, 33464, 28312}, 9085466, 8569150, 100009, 20.07},
	{"ms5803-01ba", [8]uint16{1: 40127, 36924, 23317, 23282, 33464, 28312}, 9085466, 8569150, 100009, 20.07},
	{"ms5803-02ba", [8]uint16{1: 46372, 43981, 29059, 27842, 31553, 28165}, 6465444, 8077636, 110002, 20.00},
	{"ms5803-14ba", [8]uint16{1: 46546, 42845, 29751, 29457, 32745, 29059}, 4311550, 8387300, 100050, 20.15},
	{"ms5837-02ba", [8]uint16{1: 46372, 43981, 29059, 27842, 31553, 28165}, 6465444, 8077636, 110002, 20.00},
	{"ms5837-30ba", [8]uint16{1: 34982, 36352, 20328, 22354, 26646, 26146}, 4958179, 6815414, 399980, 19.81},
}

func TestDatasheetExamples(t *testing.T) {
	for _, e := range examples {
		m, err := modelOf(e.model)
		if err != nil {
			t.Fatal(err)
		}
		pa, celsius := m.convert(e.c, e.d1, e.d2, false)
		if pa != e.pa || math.Abs(celsius-e.celsius) > 0.005 {
			t.Errorf("%s: got %v Pa, %v °C, want %v, %v", e.model, pa, celsius, e.pa, e.celsius)
		}
	}
}

// What other people's MS5803-14BA gave, with what their driver made of it: four
// parts, in the test of libms5803 (A. Wroblewski, tests/test_calib.c). Its
// pressures are of first order, its temperatures of second.
func TestReadings14BA(t *testing.T) {
	m, err := modelOf("ms5803-14ba")
	if err != nil {
		t.Fatal(err)
	}
	second, third := [8]uint16{1: 47226, 41213, 30141, 28269, 32976, 28973}, [8]uint16{1: 45432, 39480, 28558, 26566, 33269, 28617}
	fourth, fifth := [8]uint16{1: 46702, 40932, 29775, 27943, 32284, 29002}, [8]uint16{1: 46205, 41291, 29184, 28034, 33225, 28810}
	for _, r := range []struct {
		c           [8]uint16
		d1, d2      uint32
		pa, celsius float64
	}{
		{second, 4092540, 8467198, 97410, 20.87},
		{second, 4094270, 8413580, 97650, 19.02},
		{second, 4113716, 8286844, 101630, 14.56},
		{third, 4113354, 8588738, 101750, 22.45},
		{fourth, 4130828, 8333696, 101490, 22.38},
		{fifth, 4206974, 8653124, 101500, 25.05},
		{fifth, 4209022, 8502600, 101510, 19.89},
	} {
		pa, _ := m.convert(r.c, r.d1, r.d2, false)
		_, celsius := m.convert(r.c, r.d1, r.d2, true)
		if pa != r.pa || math.Abs(celsius-r.celsius) > 0.005 {
			t.Errorf("%d, %d: got %v Pa, %v °C, want %v, %v", r.d1, r.d2, pa, celsius, r.pa, r.celsius)
		}
	}
}

// The MS5803-30BA has the arithmetic of first order of the MS5837-30BA, and so
// its example; what differs is where the checksum stands.
func TestAlike(t *testing.T) {
	e := examples[len(examples)-1]
	m, err := modelOf("ms5803-30ba")
	if err != nil {
		t.Fatal(err)
	}
	if pa, celsius := m.convert(e.c, e.d1, e.d2, false); pa != e.pa || math.Abs(celsius-e.celsius) > 0.005 {
		t.Errorf("got %v Pa, %v °C", pa, celsius)
	}
	if m.checkFirst {
		t.Error("the checksum of an MS5803 is in the last word")
	}
}

// A cold shop: at 5 °C the corrections move a room's pressure by less than the
// accuracy of the part's class, and by something.
func TestSecondOrderIsSmall(t *testing.T) {
	for _, e := range examples {
		m, err := modelOf(e.model)
		if err != nil {
			t.Fatal(err)
		}
		cold := e.d2 - uint32(1500*(1<<23)/int64(e.c[6])) //nolint:gosec // it fits
		first, warm := m.convert(e.c, e.d1, cold, false)
		both, celsius := m.convert(e.c, e.d1, cold, true)
		if d := math.Abs(both - first); d == 0 || d > 3000 || !(celsius < warm && warm-celsius < 1) {
			t.Errorf("%s: %v Pa, %v °C, corrected %v Pa, %v °C", e.model, first, warm, both, celsius)
		}
	}
}

// Application note AN520: the checksum of this PROM is 0xB.
func TestChecksumExample(t *testing.T) {
	prom := [8]uint16{0x3132, 0x3334, 0x3536, 0x3738, 0x3940, 0x4142, 0x4344, 0x4500}
	if got := crc4(prom); got != 0xB {
		t.Errorf("got %#x", got)
	}
	m, err := modelOf("ms5611")
	if err != nil {
		t.Fatal(err)
	}
	prom[7] |= 0xB
	if !m.checksum(prom) {
		t.Error("the right checksum was refused")
	}
	prom[3] ^= 1
	if m.checksum(prom) {
		t.Error("a wrong word passed the checksum")
	}
}

// Below 20 °C the corrections must join without a step, and be small near it.
func TestSecondOrderIsContinuous(t *testing.T) {
	for _, m := range models() {
		for _, at := range []int64{2000, -1500, 4500} {
			t1, o1, s1 := m.second(at, 0)
			t2, o2, s2 := m.second(at-1, 0)
			if d := o1 - o2; d > 40000 || d < -40000 || t1 != t2 || s1-s2 > 40000 || s2-s1 > 40000 {
				t.Errorf("%s: jumps by %d and %d at %d", m.name, o1-o2, s1-s2, at)
			}
		}
	}
}

// chip is the part at command level.
type chip struct {
	prom  [8]uint16
	d     map[byte]uint32
	asked byte
	ready time.Time
	early bool // conversions are never done
}

func (c *chip) Tx(w, r []byte) error {
	if len(w) == 1 && w[0]&0x40 != 0 && w[0] < cmdProm {
		c.asked, c.ready = w[0], time.Now().Add(9040*time.Microsecond)
	}
	switch {
	case len(w) == 1 && w[0] >= cmdProm && len(r) == 2:
		word := c.prom[(w[0]-cmdProm)/2]
		r[0], r[1] = byte(word>>8), byte(word)
	case len(w) == 1 && w[0] == cmdRead && len(r) == 3:
		v := c.d[c.asked]
		if c.early || time.Now().Before(c.ready) {
			v = 0
		}
		r[0], r[1], r[2] = byte(v>>16), byte(v>>8), byte(v)
	}
	return nil
}

// chipOf is the chip of an example, with its checksum in place.
func chipOf(t *testing.T, n int) *chip {
	t.Helper()
	e := examples[n]
	m, err := modelOf(e.model)
	if err != nil {
		t.Fatal(err)
	}
	c := &chip{prom: e.c, d: map[byte]uint32{cmdPressure: e.d1, cmdTemperature: e.d2}}
	if m.checkFirst {
		c.prom[0] |= crc4(c.prom) << 12
	} else {
		c.prom[7] |= crc4(c.prom)
	}
	return c
}

func open(t *testing.T, part bustest.Part, cfg Config) (*Part, *bustest.Bus, error) {
	t.Helper()
	if err := cfg.Check(); err != nil {
		t.Fatal(err)
	}
	b := bustest.New(map[uint16]bustest.Part{0x76: part})
	p, err := Open(t.Context(), b.Host(), cfg, time.Now)
	return p, b, err
}

func TestRead(t *testing.T) {
	for n, e := range examples {
		synctest.Test(t, func(t *testing.T) {
			cfg := Defaults()
			cfg.Model, cfg.Pressure, cfg.Temperature = e.model, "ambient", "air"
			p, _, err := open(t, chipOf(t, n), cfg)
			if err != nil {
				t.Fatal(e.model, err)
			}
			s, err := p.Read(t.Context())
			// The corrections of second order are within a few Pa here.
			if err != nil || math.Abs(s.Ambient-e.pa) > 30 || math.Abs(s.Air-e.celsius) > 0.02 || s.Knows(sensor.Bag) {
				t.Errorf("%s: got %+v, %v", e.model, s, err)
			}
		})
	}
}

func TestFaults(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := Defaults()
		cfg.Model = "ms5611"
		spoilt := chipOf(t, 0)
		spoilt.prom[4] ^= 0x100
		for name, c := range map[string]*chip{"wrong coefficient": spoilt, "dead bus": {}} {
			if _, _, err := open(t, c, cfg); !errors.Is(err, ErrChecksum) {
				t.Errorf("%s: got %v", name, err)
			}
		}
		never := chipOf(t, 0)
		p, b, err := open(t, never, cfg)
		if err != nil {
			t.Fatal(err)
		}
		never.early = true
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrEarly) {
			t.Errorf("no conversion: got %v", err)
		}
		never.early = false
		never.d[cmdPressure] = 1
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrRange) {
			t.Errorf("nonsense: got %v", err)
		}
		b.Fail(syscall.EREMOTEIO)
		if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "nothing answers there") {
			t.Errorf("bus: got %v", err)
		}
	})
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"model":       func(c *Config) { c.Model = "ms5000" },
		"pressure":    func(c *Config) { c.Pressure = "tyre" },
		"temperature": func(c *Config) { c.Temperature = "bag" },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
