// Package press follows a run: one pressing, from the first glue to the release
// of the blank. It turns samples into events and answers the one question that
// matters all night: will this bag hold until the glue has cured?
//
// A [Run] is driven by sample time alone. [Run.Advance] is the door for
// samples; [Run.Start] and [Run.Release] are the builder's two words. The same
// samples and words give the same events, at any speed, so that a recorded
// series replays to exactly what the daemon said, and a restarted daemon picks
// a run up by replaying its record.
//
// Everything is SI: Pa, °C, seconds, UTC.
package press

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
)

// DefaultFloor is the vacuum that a builder who says nothing will not go below,
// Pa: about 19 inHg. Common practice, no source.
const DefaultFloor = 65e3

// Config is what a run is told. The zero value is a run without an adhesive.
type Config struct {
	Site    string
	Press   string
	Work    string
	Sheet   *cure.Sheet // nil: no adhesive chosen, so no press time
	Relaxed bool        // the work is flat and not strained; a curved mould's is
	FloorPa float64     // 0: DefaultFloor
	Display units.Display
	Stack   cure.GlueLineConfig // how the glue line follows the air, where no probe tells
	Shop    cure.ShopConfig     // what is known of the night to come
	Before  []HourMean          // how warm it was before the run, in order; see [ShopMemory]
	// FreeVolumeM3 is the air space in the bag, its breather and its line, and
	// StrokeM3 what one stroke of the hand pump draws, m³; 0: not known.
	FreeVolumeM3, StrokeM3 float64
	// Elapsed, when set, makes the sentence tell moments as hours since it: for
	// a series whose clock counts from its start.
	Elapsed time.Time
}

// Run is one pressing. It is not safe for use by several goroutines at once.
type Run struct {
	cfg     Config
	floor   float64
	clock   clock
	id      string
	stage   Stage
	stageAt float64
	started float64 // t of the first glue or of the pull-down
	out     []Event

	samples uint64

	bag, amb, glue, air quantity
	humidity            humidity
	line                *cure.GlueLine
	glueNow             cure.GlueTemp
	warm                warmth
	spike               spike
	vac                 vacuum
	vacBefore           float64 // the vacuum before the newest sample, Pa
	assembly            assembly
	hold                hold
	drop                dropTest
	hose                hose
	facts               bagFacts
	pace                pace
	cure                curing
	margin              margin
	held                conditions
	verdict             Verdict
	calibration         string // what the run was told of its readings
	weather             Weather
}

// New returns a run on an idle press: it waits for [Run.Start] or for a
// pull-down.
func New(cfg Config) *Run {
	if cfg.FloorPa == 0 {
		cfg.FloorPa = DefaultFloor
	}
	if cfg.Work == EmptyBag {
		cfg.Sheet = nil
	}
	r := &Run{cfg: cfg, floor: cfg.FloorPa, stage: Idle, verdict: Unsure}
	r.bag, r.amb = newQuantity("bag"), newQuantity("ambient")
	r.glue, r.air = newQuantity("glueline"), newQuantity("air")
	r.newStack()
	r.cure = newCuring(cfg)
	r.hold = newHold(cfg)
	r.hose, r.facts = newHose(), newBagFacts(cfg)
	return r
}

// ID names the run for ever: the press and when it began. It is empty while
// the press is idle.
func (r *Run) ID() string { return r.id }

// Stage is where the run is.
func (r *Run) Stage() Stage { return r.stage }

// Closed reports whether the run is over: its press waits for a new one.
func (r *Run) Closed() bool { return r.stage == Release }

// Open reports whether the bag is open: nothing clamps, so a new run may begin.
func (r *Run) Open() bool { return r.vac.n == 0 || r.vac.value < openBag }

// Interrupted says that nobody watched since the newest sample: whatever time
// passes until the next one is a gap, however short.
func (r *Run) Interrupted() { r.clock.broken = true }

func (r *Run) underWay() bool { return r.stage != Idle && r.stage != Release }

// Config returns what the run was told.
func (r *Run) Config() Config { return r.cfg }

// Advance takes the next sample and returns the events that it caused, in
// order. A closed run goes on showing its readings but says nothing.
func (r *Run) Advance(s sensor.Sample) []Event {
	r.out = nil
	k := r.clock.advance(s)
	r.samples++
	r.remarkClock(k)
	r.vacBefore = r.vac.value
	fresh := r.judgeReadings(s, k)
	r.humidity.take(r.clock.t, s)
	if fresh {
		r.vac.add(r.clock.t, r.amb.value-r.bag.value)
		r.hose.follow(r.clock.t, r.bag.value, r.stage == Pulldown)
	}
	if r.Closed() {
		return nil
	}
	calm := r.calm(k)
	if !calm {
		r.followWarmth()
	}
	r.moveStage(fresh, k)
	r.advanceHold(fresh, k)
	r.advanceDrop(fresh, k)
	if !calm || r.clampedNow() != r.cure.clamped {
		r.advanceCure(k)
	}
	r.advanceMargin()
	return r.out
}

// slowEvery is how often, s, the temperatures and the cure are looked at when
// samples come faster: nothing moves there within a second.
const slowEvery = 0.75

// calm reports whether what moves slowly need not be looked at with this sample.
func (r *Run) calm(k tick) bool {
	p := &r.pace
	glue, air := !math.IsNaN(r.glue.value), !math.IsNaN(r.air.value)
	if !k.gap && r.clock.t-p.t < slowEvery && p.stage == r.stage && p.glue == glue && p.air == air {
		return true
	}
	*p = pace{r.clock.t, r.stage, glue, air}
	return false
}

// pace is when the slow things were last looked at, and what there was then.
type pace struct {
	t         float64
	stage     Stage
	glue, air bool
}

// remarkClock says what happened to time, once there is a run to say it of.
func (r *Run) remarkClock(k tick) {
	if !r.underWay() {
		return
	}
	if k.step != 0 {
		r.emit(Event{Kind: ClockStepped, ByS: Num(k.step)})
	}
	if k.gap {
		r.emit(Event{Kind: Gap, From: r.clock.wall(r.clock.t - k.dt), To: r.clock.now})
	}
}

// Start says that glue is being spread from now on, the time of the newest
// sample. It has no effect on a run that is under way.
func (r *Run) Start(at time.Time) []Event {
	r.out = nil
	if r.stage != Idle {
		return nil
	}
	if !r.clock.started {
		r.clock.advance(sensor.Blank(at))
	}
	r.open(Layup)
	r.assembly = newAssembly(r.cfg.Sheet, r.clock.t)
	r.assembly.follow(r.clock.t, r.glueTemperature())
	started := Event{Kind: LayupStarted, OpenLimit: r.clock.wall(r.assembly.opens())}
	if r.assembly.closed {
		started.ClosedLimit = r.clock.wall(r.assembly.limit(r.clock.t))
	}
	r.emit(started)
	return r.out
}

// Release says that the builder opens the bag, or gives the run up, now.
func (r *Run) Release() []Event {
	r.out = nil
	if r.stage == Idle || r.Closed() {
		return nil
	}
	r.release()
	return r.out
}

// open begins the run at stage s.
func (r *Run) open(s Stage) {
	r.started = r.clock.t
	r.newStack()
	r.id = r.cfg.Press + "-" + r.clock.now.UTC().Format("20060102T150405Z")
	r.enter(s)
}

func (r *Run) enter(s Stage) {
	r.stage, r.stageAt = s, r.clock.t
}

func (r *Run) emit(e Event) {
	e.Time, e.Site, e.Press, e.Run = r.clock.now, r.cfg.Site, r.cfg.Press, r.id
	r.held.note(e)
	r.out = append(r.out, e)
}

// sinceMidnight is how long the newest sample's local day has lasted, s.
func (r *Run) sinceMidnight() float64 {
	zone := r.cfg.Display.Location
	if zone == nil {
		zone = time.UTC
	}
	now := r.clock.now.In(zone)
	y, m, d := now.Date()
	return now.Sub(time.Date(y, m, d, 0, 0, 0, 0, zone)).Seconds()
}

// gasTemperature is the best that is known of the gas in the bag, °C.
func (r *Run) gasTemperature() float64 {
	if !math.IsNaN(r.glue.value) {
		return r.glue.value
	}
	return r.air.value
}

// glueTemperature is the best that is known of the glue line, °C.
func (r *Run) glueTemperature() float64 { return r.glueNow.C.Expected }

func (r *Run) leakReading() leak.Reading {
	return leak.Reading{T: r.clock.t, Bag: r.bag.value, Ambient: r.amb.value, Gas: r.gasTemperature(), Air: r.air.value}
}

// Note writes the builder's words into the run.
func (r *Run) Note(text string) []Event {
	r.out = nil
	if r.underWay() {
		r.emit(Event{Kind: Noted, Text: text})
	}
	return r.out
}
