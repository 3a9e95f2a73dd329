package press

import (
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/units"
)

// status0112 is a hold at 01:12 on a Saturday with everything known.
func status0112() Status {
	now := time.Date(2026, 10, 17, 1, 12, 0, 0, time.UTC)
	return Status{
		Time: now, Stage: Hold, Glue: "pva-d3", Verdict: WillHold, VacuumPa: 84e3, FloorPa: 65e3,
		GluelineC: 8.5, MinUseC: 10, Settled: true,
		LeakRate:        Band{1900, 2100, 2300},
		PressTimeAt:     Span{now.Add(7*time.Hour + 28*time.Minute), now.Add(8*time.Hour + 38*time.Minute), now.Add(10*time.Hour + 18*time.Minute)},
		FloorAt:         Span{now.Add(34 * time.Hour), now.Add(50 * time.Hour), time.Time{}},
		MarginS:         Band{24 * 3600, 41 * 3600, Unknown()},
		ClampedProgress: Band{0.3, 0.417, 0.5}, HoldChance: 1,
	}
}

func TestSentences(t *testing.T) {
	early := func(st *Status, h float64) {
		d := time.Duration(h * float64(time.Hour))
		st.FloorAt = Span{st.Time.Add(d * 9 / 10), st.Time.Add(d), st.Time.Add(d * 12 / 10)}
	}
	for _, test := range []struct {
		name   string
		change func(*Status)
		want   string
	}{
		{"holding", func(*Status) {}, "Holding at 84 kPa. Glue reaches its press time at 09:50 (08:40 to 11:30). " +
			"The bag stays above your 65 kPa floor past 11:00 tomorrow. Sleep."},
		{"never", func(st *Status) { st.FloorAt, st.MarginS = Span{}, unknownBand() },
			"Holding at 84 kPa. Glue reaches its press time at 09:50 (08:40 to 11:30). " +
				"The bag stays above your 65 kPa floor for as long as can be foreseen. Sleep."},
		{"leaking, will not hold", func(st *Status) {
			st.Leaking, st.LeakOnset, st.Verdict, st.MarginS.Expected = true, st.Time, WillNotHold, -5.3*3600
			early(st, 3.3)
		}, "Leaking 2.1 kPa/h since 01:12. Below the floor at 04:30 (04:10 at the earliest), 5 h before the glue is done. Top up or re-seal before 04:10."},
		{"slight leak", func(st *Status) { st.Leaking, st.LeakOnset, st.LeakRate = true, st.Time, Band{80, 100, 120} },
			"Holding at 84 kPa with a slight leak of 0.10 kPa/h. Glue reaches its press time at 09:50 (08:40 to 11:30). " +
				"The bag stays above your 65 kPa floor past 11:00 tomorrow. Sleep."},
		{"leaking, slow enough", func(st *Status) {
			st.Leaking, st.LeakOnset, st.MarginS = true, st.Time, Band{3600, 3 * 3600, 5 * 3600}
			early(st, 11.6)
		}, "Leaking 2.1 kPa/h since 01:12. Slow enough: the floor comes at 12:50, 3 h after the glue is done at 09:50. Sleep."},
		{"in doubt", func(st *Status) {
			st.Verdict, st.HoldChance, st.MarginS = InDoubt, 0.72, Band{-3600, 3600, 7200}
			early(st, 9.5)
		}, "Holding at 84 kPa. Glue reaches its press time at 09:50 (08:40 to 11:30). The floor may come as early as 09:40; " +
			"untouched the bag holds in about 7 nights of ten. Top up before you sleep, or look again by then."},
		{"settling", func(st *Status) { st.Verdict, st.StageAt = Unsure, st.Time.Add(-10*time.Minute) },
			"Holding at 84 kPa. The bag is settling; look at it in the first half hour. Glue reaches its press time at 09:50 (08:40 to 11:30)."},
		{"too cold", func(st *Status) { st.Conditions = []Condition{{Kind: TooCold, Since: st.Time.Add(-time.Hour)}} },
			"Too cold since 00:12: the glue line is at 8.5 °C and this glue needs 10.0 °C. Holding at 84 kPa. Warm the bag: until then no press time is earned."},
		{"too cold, the film at stake", func(st *Status) {
			st.Conditions = []Condition{{Kind: TooCold, Since: st.Time.Add(-time.Minute)}}
			st.HeatBy, st.HeatFor, st.FilmLostAt = st.Time.Add(12*time.Minute), HeatForFilm, st.Time.Add(15*time.Minute)
		}, "Too cold since 01:11: the glue line is at 8.5 °C and this glue needs 10.0 °C. Holding at 84 kPa. Warm the bag by 01:24, or the film is lost."},
		{"too cold, the clamp at stake", func(st *Status) {
			st.Conditions = []Condition{{Kind: TooCold, Since: st.Time.Add(-time.Minute)}}
			st.HeatBy, st.HeatFor = st.Time.Add(4*time.Hour), HeatForClamp
		}, "Too cold since 01:11: the glue line is at 8.5 °C and this glue needs 10.0 °C. Holding at 84 kPa. " +
			"Warm the bag by 05:10, or it may not hold until the glue is done."},
		{"too cold, too late for warmth alone", func(st *Status) {
			st.Conditions = []Condition{{Kind: TooCold, Since: st.Time.Add(-time.Minute)}}
			st.HeatBy, st.HeatFor = st.Time, HeatForClamp
		}, "Too cold since 01:11: the glue line is at 8.5 °C and this glue needs 10.0 °C. Holding at 84 kPa. " +
			"Warm the bag now and top up: even warmed, the glue may not be done before the bag is below the floor."},
		{"never the late bound", func(st *Status) { st.PressTimeAt.Late, st.GluelineC = time.Time{}, 11 },
			"Holding at 84 kPa. Glue reaches its press time at 09:50 (not before 08:40; much later should it fall below 10.0 °C). " +
				"The bag stays above your 65 kPa floor past 11:00 tomorrow. Sleep."},
		{"cold to come", func(st *Status) { st.GluelineC, st.ColdAt = 12, st.Time.Add(3*time.Hour) },
			"Holding at 84 kPa. Glue reaches its press time at 09:50 (08:40 to 11:30). The bag stays above your 65 kPa floor past 11:00 tomorrow. " +
				"But the glue line is expected below 10.0 °C at about 04:10: cover the bag or warm it before then."},
		{"no end in sight", func(st *Status) {
			st.PressTimeAt, st.GluelineC, st.Verdict, st.StageAt = Span{Early: st.PressTimeAt.Early}, 10.4, InDoubt, st.Time.Add(-time.Hour)
			st.FloorAt = Span{}
		}, "Holding at 84 kPa. The glue does not reach its press time unless the glue line warms up and stays above 10.0 °C, and not before 08:40."},
		{"film lost", func(st *Status) { st.Lost = true }, "The glue was below its minimum of 10.0 °C while wet: the film is taken as lost. " +
			"Holding at 84 kPa. Warming now does not mend it; test the squeeze-out before you trust this bond."},
		{"below the floor", func(st *Status) {
			st.VacuumPa, st.Conditions = 62e3, []Condition{{Kind: BelowFloor, Since: st.Time}}
		}, "Below the floor: 62 kPa of vacuum, the floor is 65 kPa. Pump and re-seal now."},
		{"vacuum lost", func(st *Status) {
			st.VacuumPa, st.Conditions = 3e3, []Condition{{Kind: BelowFloor, Since: st.Time}, {Kind: VacuumLost, Since: st.Time}}
		}, "Vacuum lost at 01:12: 3.0 kPa left. The glue has 41 % of its press time. Re-seal and pump now."},
		{"blind", func(st *Status) {
			st.Conditions = []Condition{{Kind: VacuumLost, Since: st.Time}, {Kind: SensorSilent, Quantity: "bag", Since: st.Time}}
		}, "No reading from the bag sensor since 01:12: nobody knows whether the bag holds. Look at the bag and the sensor."},
		{"done", func(st *Status) { st.Verdict, st.PressTimeAt.Expected = Done, st.Time.Add(-time.Hour) },
			"The glue has reached its press time. Holding at 84 kPa. To be on the safe side leave it until 11:30."},
		{"surely done", func(st *Status) { st.Verdict, st.PressTimeAt.Late = Done, st.Time.Add(-time.Hour) },
			"The glue has reached its press time. Holding at 84 kPa. Open the bag when you like."},
		{"no glue", func(st *Status) { st.Glue = "" },
			"Holding at 84 kPa. No adhesive is set, so the press time is not known: set it with `nightclamp glue set`."},
		{"layup", func(st *Status) { st.Stage, st.ClosedLimit = Layup, st.Time.Add(12*time.Minute) },
			"Laying up. The stack must be under vacuum by 01:24, in 12 min."},
		{"assembly over", func(st *Status) {
			st.Stage, st.ClosedLimit, st.Conditions = Layup, st.Time, []Condition{{Kind: AssemblyOver, Since: st.Time}}
		}, "The assembly time ran out at 01:12. Do as the glue's datasheet says: a joint pressed now may not hold."},
		{"released early", func(st *Status) { st.Stage, st.Verdict = Release, OpenedEarly },
			"Released early, with 41 % of the press time earned under clamp. Expect springback, and do not load it before the glue has cured."},
	} {
		st := status0112()
		test.change(&st)
		if got := Sentence(st, units.Display{}); got != test.want {
			t.Errorf("%s:\n got %s\nwant %s", test.name, got, test.want)
		}
	}
}

// A message must fit on a phone's lock screen and be read half asleep.
func TestSentencesAreShort(t *testing.T) {
	st := status0112()
	st.Verdict, st.HoldChance = InDoubt, 0.5
	if got := Sentence(st, units.Display{}); len(got) > 260 || strings.Count(got, ".") > 12 {
		t.Errorf("%d characters: %s", len(got), got)
	}
}
