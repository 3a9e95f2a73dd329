package reader

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
	"github.com/nightclamp/nightclamp/sensor/mpr"
)

// fake is a part made of functions. Its bag pressure counts its readings.
type fake struct {
	read   func(ctx context.Context, n int) (sensor.Sample, error)
	mu     sync.Mutex
	opened int
	closed int
	reads  int
}

func (f *fake) open(context.Context) (sensor.Source, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.opened++
	return f, nil
}

func (f *fake) Read(ctx context.Context) (sensor.Sample, error) {
	f.mu.Lock()
	f.reads++
	n := f.reads
	f.mu.Unlock()
	return f.read(ctx, n)
}

func (f *fake) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.closed++
	return nil
}

func bagOf(pa float64) sensor.Sample        { return sensor.Bag.With(sensor.Blank(time.Now()), pa) }
func ambientOf(pa float64) sensor.Sample    { return sensor.Ambient.With(sensor.Blank(time.Now()), pa) }
func gluelineOf(c float64) sensor.Sample    { return sensor.GlueLine.With(sensor.Blank(time.Now()), c) }
func counting(n int) (sensor.Sample, error) { return bagOf(16000 + float64(n)), nil }

func steady(s func() sensor.Sample) *fake {
	return &fake{read: func(context.Context, int) (sensor.Sample, error) { return s(), nil }}
}

func bagPart(f *fake) Part {
	return Part{Name: "bag", Driver: "fake", Reads: []sensor.Quantity{sensor.Bag}, Open: f.open}
}

func slowPart(name string, q sensor.Quantity, f *fake) Part {
	return Part{Name: name, Driver: "fake", Reads: []sensor.Quantity{q}, Every: time.Second, Open: f.open}
}

// fakeClock follows the bubble's time.
func fakeClock() Clock {
	begin := time.Now()
	return func() Moment {
		return Moment{Time: time.Now().UTC(), Mono: time.Since(begin) + time.Hour, Boot: "one"}
	}
}

// run runs a group of the parts for d and returns its samples.
func run(t *testing.T, d time.Duration, cfg Config, parts ...Part) (*Group, []sensor.Sample) {
	t.Helper()
	if cfg.Clock == nil {
		cfg.Clock = fakeClock()
	}
	cfg.Log = slog.New(slog.DiscardHandler)
	g, err := New(parts, cfg)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), d)
	defer cancel()
	var got []sensor.Sample
	if err := g.Run(ctx, func(s sensor.Sample) { got = append(got, s) }); err != nil {
		t.Error(err)
	}
	return g, got
}

// A thermometer that takes 750 ms must not slow the bag down, and each reading
// of the bag comes out once.
func TestSlowPartDoesNotHoldUpTheBag(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bag := &fake{read: func(_ context.Context, n int) (sensor.Sample, error) { return counting(n) }}
		slow := &fake{read: func(ctx context.Context, _ int) (sensor.Sample, error) {
			time.Sleep(750 * time.Millisecond)
			return gluelineOf(12.5), nil
		}}
		g, got := run(t, 10*time.Second+50*time.Millisecond, Config{}, bagPart(bag), slowPart("glue", sensor.GlueLine, slow))
		if len(got) != 101 {
			t.Errorf("%d samples in ten seconds, want 101", len(got))
		}
		for i, s := range got {
			if s.Bag != 16001+float64(i) {
				t.Fatalf("sample %d has bag %v", i, s.Bag)
			}
			if i > 0 && s.Time.Sub(got[i-1].Time) != 100*time.Millisecond {
				t.Errorf("sample %d comes after %v", i, s.Time.Sub(got[i-1].Time))
			}
			if s.Knows(sensor.GlueLine) != (i >= 8) {
				t.Errorf("sample %d: glue line %v", i, s.GlueLine)
			}
		}
		for _, h := range g.Health() {
			if !h.Healthy || h.Errors != 0 {
				t.Errorf("%+v", h)
			}
		}
	})
}

func TestStamp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		_, got := run(t, time.Second, Config{}, bagPart(steady(func() sensor.Sample { return bagOf(1) })))
		for i, s := range got {
			want := time.Duration(i) * 100 * time.Millisecond
			if s.Boot != "one" || s.Mono != time.Hour+want || s.Time.Location() != time.UTC {
				t.Errorf("sample %d: %+v", i, s)
			}
		}
	})
}

// A part that fails is closed and opened again with growing pauses; when it
// works again all is as before.
func TestFailingPartIsReopened(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		room := &fake{}
		room.read = func(context.Context, int) (sensor.Sample, error) {
			if at := time.Since(begin); at >= 10*time.Second && at < 10*time.Minute {
				return sensor.Sample{}, errors.New("no answer")
			}
			return ambientOf(100000), nil
		}
		bag := steady(func() sensor.Sample { return bagOf(16000) })
		g, got := run(t, 12*time.Minute, Config{StationPa: 99000}, bagPart(bag), slowPart("room", sensor.Ambient, room))
		// Half an hour at 30 s is twenty, and the short ones before.
		if room.opened < 15 || room.opened > 45 || room.closed != room.opened {
			t.Errorf("opened %d times, closed %d", room.opened, room.closed)
		}
		for _, s := range got {
			at := s.Time.Sub(begin)
			silent := s.Quality.Has(sensor.AmbientSilent | sensor.AmbientAssumed)
			switch {
			case at > time.Second && at < 14*time.Second && silent:
				t.Fatalf("silent at %v", at)
			case at > 16*time.Second && at < 10*time.Minute && (!silent || s.Ambient != 100000):
				t.Fatalf("at %v: %+v, want the last reading, remarked", at, s)
			case at > 11*time.Minute && silent:
				t.Fatalf("still silent at %v", at)
			}
			if s.Bag != 16000 {
				t.Fatalf("at %v the bag is %v", at, s.Bag)
			}
		}
		h := g.Health()[1]
		if !h.Healthy || h.Err != nil || h.Errors < 15 || int(h.Errors) != room.opened-1 {
			t.Errorf("%+v after %d openings", h, room.opened)
		}
	})
}

func TestOpenFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tries := 0
		p := Part{Name: "bag", Reads: []sensor.Quantity{sensor.Bag}, Open: func(context.Context) (sensor.Source, error) {
			tries++
			return nil, errors.New("no bus")
		}}
		g, got := run(t, time.Minute, Config{}, p)
		h := g.Health()[0]
		if h.Healthy || h.Err == nil || !strings.Contains(h.Err.Error(), "opening: no bus") || int(h.Errors) != tries || tries < 5 {
			t.Errorf("%+v after %d tries", h, tries)
		}
		// Samples go on, so that the silence can be noticed.
		if len(got) < 590 || !got[0].Quality.Has(sensor.BagSilent) || got[0].Knows(sensor.Bag) {
			t.Errorf("%d samples, the first %+v", len(got), got[0])
		}
	})
}

// A bag part that hangs does not stop the samples; closing it frees it, and it
// is opened again.
func TestHangingReadIsClosed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		hang := make(chan struct{})
		var once sync.Once
		bag := &fake{}
		bag.read = func(_ context.Context, n int) (sensor.Sample, error) {
			if n == 20 {
				<-hang
				return sensor.Sample{}, errors.New("closed")
			}
			return counting(n)
		}
		p := bagPart(bag)
		p.Open = func(ctx context.Context) (sensor.Source, error) {
			source, err := bag.open(ctx)
			return closer{source, func() { once.Do(func() { close(hang) }) }}, err
		}
		room := steady(func() sensor.Sample { return ambientOf(100000) })
		g, got := run(t, 10*time.Second, Config{}, p, slowPart("room", sensor.Ambient, room))
		var late, silent int
		for _, s := range got {
			if s.Knows(sensor.Bag) {
				continue
			}
			late++
			if s.Quality.Has(sensor.BagSilent) {
				silent++
			}
			if at := s.Time.Sub(begin); at < 1900*time.Millisecond || at > 5*time.Second {
				t.Errorf("bag missing at %v", at)
			}
			if !s.Knows(sensor.Ambient) {
				t.Errorf("the room is missing with it: %+v", s)
			}
		}
		// It hangs for its two seconds, then is closed, then opened again.
		if late < 18 || late > 40 || silent != 0 || bag.opened != 2 {
			t.Errorf("%d samples without bag, %d silent, opened %d times", late, silent, bag.opened)
		}
		if h := g.Health()[0]; !h.Healthy || h.Errors != 1 {
			t.Errorf("%+v", h)
		}
	})
}

type closer struct {
	sensor.Source
	before func()
}

func (c closer) Close() error {
	c.before()
	return c.Source.Close()
}

// A part that hangs for good, in the kernel say, is told by its health, and is
// left behind at the end.
func TestHangsForGood(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		hang := make(chan struct{})
		bag := &fake{read: func(_ context.Context, n int) (sensor.Sample, error) {
			if n > 10 {
				<-hang
			}
			return counting(n)
		}}
		g, err := New([]Part{bagPart(bag)}, Config{Clock: fakeClock(), Log: slog.New(slog.DiscardHandler)})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		var last sensor.Sample
		left := make(chan error, 1)
		go func() { left <- g.Run(ctx, func(s sensor.Sample) { last = s }) }()
		time.Sleep(20 * time.Second)
		if h := g.Health()[0]; h.Healthy || !errors.Is(h.Err, ErrHangs) {
			t.Errorf("%+v", h)
		}
		cancel()
		begin := time.Now()
		if err := <-left; !errors.Is(err, ErrHangs) || time.Since(begin) > 2*time.Second {
			t.Errorf("left with %v after %v", err, time.Since(begin))
		}
		if !last.Quality.Has(sensor.BagSilent) || last.Knows(sensor.Bag) {
			t.Errorf("last sample %+v", last)
		}
		close(hang) // let the bubble end
	})
}

func TestDriverThatPanics(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bag := &fake{read: func(_ context.Context, n int) (sensor.Sample, error) {
			if n == 5 {
				panic("index out of range")
			}
			return counting(n)
		}}
		g, got := run(t, 5*time.Second, Config{}, bagPart(bag))
		if h := g.Health()[0]; !h.Healthy || h.Errors != 1 || bag.closed != 2 {
			t.Errorf("%+v, closed %d times", h, bag.closed)
		}
		if len(got) < 45 {
			t.Errorf("%d samples", len(got))
		}
	})
}

func TestRecordedSeriesEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bag := &fake{read: func(_ context.Context, n int) (sensor.Sample, error) {
			if n > 3 {
				return sensor.Sample{}, io.EOF
			}
			return counting(n)
		}}
		g, _ := run(t, 20*time.Second, Config{}, bagPart(bag))
		if h := g.Health()[0]; !errors.Is(h.Err, io.EOF) || h.Errors != 0 || bag.opened != 1 || bag.closed != 1 {
			t.Errorf("%+v, opened %d, closed %d", h, bag.opened, bag.closed)
		}
	})
}

func TestGaugePartFollowsTheBarometer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		gauge := steady(func() sensor.Sample { return sensor.FromVacuum(time.Now(), 70000) })
		room := steady(func() sensor.Sample { return ambientOf(84556) })
		_, got := run(t, 3*time.Second, Config{}, bagPart(gauge), slowPart("room", sensor.Ambient, room))
		s := got[len(got)-1]
		if math.Abs(s.Bag-14556) > 1e-6 || s.Ambient != 84556 || s.Quality != sensor.Gauge {
			t.Errorf("with barometer: %+v", s)
		}
		_, got = run(t, 3*time.Second, Config{StationPa: 85000}, bagPart(gauge))
		s = got[len(got)-1]
		if s.Bag != 15000 || s.Ambient != 85000 || s.Quality != sensor.Gauge|sensor.AmbientAssumed {
			t.Errorf("with station pressure: %+v", s)
		}
		_, got = run(t, 3*time.Second, Config{}, bagPart(gauge))
		s = got[len(got)-1]
		if s.Bag != 31325 || s.Ambient != 101325 || s.Quality != sensor.Gauge|sensor.AmbientAssumed {
			t.Errorf("with nothing: %+v", s)
		}
	})
}

// The barometer's first reading comes later than the bag's: until then the
// room is missing, not assumed, or each start would look like a jump.
func TestNoJumpAtTheStart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		room := &fake{read: func(context.Context, int) (sensor.Sample, error) {
			time.Sleep(450 * time.Millisecond)
			return ambientOf(84556), nil
		}}
		_, got := run(t, 2*time.Second, Config{}, bagPart(steady(func() sensor.Sample { return bagOf(16000) })), slowPart("room", sensor.Ambient, room))
		for i, s := range got {
			if known := i >= 5; s.Knows(sensor.Ambient) != known || (known && s.Ambient != 84556) {
				t.Errorf("sample %d: %+v", i, s)
			}
		}
	})
}

func TestBarometerIsHeldForSixHoursOnly(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		room := &fake{read: func(context.Context, int) (sensor.Sample, error) {
			if time.Since(begin) > time.Minute {
				return sensor.Sample{}, errors.New("gone")
			}
			return ambientOf(98000), nil
		}}
		p := bagPart(steady(func() sensor.Sample { return bagOf(16000) }))
		_, got := run(t, 7*time.Hour, Config{Interval: 10 * time.Second}, p, slowPart("room", sensor.Ambient, room))
		for _, s := range got {
			want := 98000.0
			if s.Time.Sub(begin) > 6*time.Hour+time.Minute+5*time.Second {
				want = sensor.StandardAtmosphere
			}
			if s.Time.Sub(begin) > 10*time.Second && s.Ambient != want {
				t.Fatalf("after %v: %+v", s.Time.Sub(begin), s)
			}
		}
	})
}

// The wall clock is set: the sample says so, once.
func TestClockSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		clock := func() Moment {
			m := Moment{Time: time.Now().UTC(), Mono: time.Since(begin) + 1, Boot: "one"}
			if time.Since(begin) > 990*time.Millisecond {
				m.Time = m.Time.Add(-3 * time.Hour)
			}
			return m
		}
		_, got := run(t, 2*time.Second, Config{Clock: clock}, bagPart(steady(func() sensor.Sample { return bagOf(1) })))
		set := 0
		for i, s := range got {
			if s.Quality.Has(sensor.ClockSet) {
				set++
				if i != 10 {
					t.Errorf("sample %d says that the clock was set", i)
				}
			}
		}
		if set != 1 {
			t.Errorf("%d samples say that the clock was set", set)
		}
	})
}

// Two parts read the bag: the first is used while it lives, the second only
// when it does not, and never in turns.
func TestSpareBagPart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		first := &fake{read: func(context.Context, int) (sensor.Sample, error) {
			if time.Since(begin) > 5*time.Second {
				return sensor.Sample{}, errors.New("gone")
			}
			return bagOf(16000), nil
		}}
		spare := bagPart(steady(func() sensor.Sample { return bagOf(17000) }))
		spare.Name = "spare"
		_, got := run(t, 20*time.Second, Config{}, bagPart(first), spare)
		for _, s := range got {
			at := s.Time.Sub(begin)
			switch {
			case at < 5*time.Second && s.Bag != 16000 && s.Knows(sensor.Bag):
				t.Errorf("at %v the bag is %v", at, s.Bag)
			case at > 11*time.Second && s.Bag != 17000:
				t.Errorf("at %v the bag is %v", at, s.Bag)
			}
		}
	})
}

// A real driver on a simulated bus whose clock line is held down for a while.
func TestBusHeldDown(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		begin := time.Now()
		b := bustest.New(map[uint16]bustest.Part{0x18: answers{0x40, 0x80, 0x00, 0x00}})
		host := b.Host()
		p := Part{Name: "bag", Driver: "mpr", Reads: []sensor.Quantity{sensor.Bag}, Open: func(context.Context) (sensor.Source, error) {
			return mpr.Open(host, mpr.Defaults(), time.Now)
		}}
		go func() {
			time.Sleep(10*time.Second + time.Millisecond)
			release := b.Hang()
			time.Sleep(20 * time.Second)
			release()
		}()
		g, got := run(t, time.Minute, Config{}, p)
		for _, s := range got {
			at := s.Time.Sub(begin)
			known, silent := s.Knows(sensor.Bag), s.Quality.Has(sensor.BagSilent)
			switch {
			case at < 10*time.Second && !known, at > 35*time.Second && !known:
				t.Fatalf("no bag at %v", at)
			case at > 16*time.Second && at < 29*time.Second && (known || !silent):
				t.Fatalf("at %v: %+v", at, s)
			}
		}
		if h := g.Health()[0]; !h.Healthy || h.Errors == 0 || len(got) < 500 {
			t.Errorf("%+v, %d samples", h, len(got))
		}
	})
}

// answers is a part that says the same to every read.
type answers []byte

func (a answers) Tx(_, r []byte) error {
	copy(r, a)
	return nil
}

func TestNamesAreUnique(t *testing.T) {
	f := steady(func() sensor.Sample { return bagOf(1) })
	if _, err := New([]Part{bagPart(f), bagPart(f)}, Config{}); err == nil {
		t.Error("two parts of one name were accepted")
	}
}

func TestSystemClock(t *testing.T) {
	clock := SystemClock()
	a, b := clock(), clock()
	if a.Boot == "" || a.Boot != b.Boot || b.Mono < a.Mono || a.Mono <= 0 || time.Since(a.Time) > time.Minute {
		t.Errorf("got %+v, then %+v", a, b)
	}
}

func BenchmarkSample(b *testing.B) {
	parts := []Part{bagPart(nil), slowPart("room", sensor.Ambient, nil), slowPart("glue", sensor.GlueLine, nil)}
	for i := range parts {
		parts[i].Open = nil
	}
	g, err := New(parts, Config{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		g.parts[0].succeeded(bagOf(16000))
		g.parts[1].succeeded(ambientOf(100000))
		g.parts[2].succeeded(gluelineOf(12))
		g.sample()
	}
}

// A part's corrections reach the samples, with the air that another part knows; a
// gauge part is put into the room after its correction.
func TestCorrected(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		gauge := bagPart(steady(func() sensor.Sample { return sensor.FromVacuum(time.Now(), 80000) }))
		gauge.Correct = func(s sensor.Sample, airC float64) sensor.Sample {
			if !math.IsNaN(airC) {
				s.Bag += airC
			}
			return s
		}
		room := slowPart("room", sensor.Ambient, steady(func() sensor.Sample { return ambientOf(95000) }))
		room.Correct = func(s sensor.Sample, _ float64) sensor.Sample { s.Ambient += 100; return s }
		air := slowPart("air", sensor.Air, steady(func() sensor.Sample { return sensor.Air.With(sensor.Blank(time.Now()), 12) }))
		_, samples := run(t, 5*time.Second, Config{}, gauge, room, air)
		last := samples[len(samples)-1]
		if last.Ambient != 95100 || last.Bag != 95100-80000+12 {
			t.Errorf("got %+v", last)
		}
	})
}
