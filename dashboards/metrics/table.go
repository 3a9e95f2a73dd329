package metrics

import (
	"github.com/prometheus/client_golang/prometheus"

	"github.com/nightclamp/nightclamp/press"
)

//nolint:gochecknoglobals // a constant in all but name: Go has no constant structs.
var buildInfo = family{
	name:   "nightclamp_build_info",
	help:   "Always 1; the labels name the build that runs.",
	kind:   prometheus.GaugeValue,
	labels: []string{"version", "revision", "goversion"},
}

// families is the table of all metrics that speak of a press. A new metric is
// one row here and one in README.md, which a test holds to each other.
func families() []family {
	var all []family
	all = append(all, pressures()...)
	all = append(all, leaks()...)
	all = append(all, cures()...)
	all = append(all, states()...)
	return append(all, readings()...)
}

func pressures() []family {
	return []family{
		gauge("nightclamp_vacuum_pascals",
			"What clamps the work: ambient minus bag pressure.",
			func(in reading) { in.emit(in.VacuumPa) }),
		gauge("nightclamp_bag_pressure_pascals",
			"Absolute pressure in the bag.",
			func(in reading) { in.emit(in.BagPa) }),
		gauge("nightclamp_ambient_pressure_pascals",
			"Absolute pressure of the room, not reduced to sea level.",
			func(in reading) { in.emit(in.AmbientPa) }),
		gauge("nightclamp_vacuum_floor_pascals",
			"The vacuum that the builder will not go below.",
			func(in reading) { in.emit(in.FloorPa) }),
		gauge("nightclamp_glueline_temperature_celsius",
			"Temperature at the glue line.",
			func(in reading) { in.emit(in.GluelineC) }),
		gauge("nightclamp_air_temperature_celsius",
			"Temperature of the room's air.",
			func(in reading) { in.emit(in.AirC) }),
		gauge("nightclamp_air_humidity_ratio",
			"Relative humidity of the room's air, 0 to 1.",
			func(in reading) { in.emit(in.HumidityPct / 100) }),
		gauge("nightclamp_wood_equilibrium_moisture_ratio",
			"Water that wood comes to hold when it is left in this air, as a share of its dry mass.",
			func(in reading) { in.emit(in.WoodPct / 100) }),
		gauge("nightclamp_minimum_use_temperature_celsius",
			"Below it the chosen glue forms no film.",
			func(in reading) { in.emit(in.MinUseC) }),
	}
}

func leaks() []family {
	return []family{
		gauge("nightclamp_leak_rate_pascals_per_second",
			"Rise of bag pressure that does not die away, settling, temperature and barometer taken out.",
			func(in reading) { in.emit(in.LeakRate.Expected / 3600) }),
		gauge("nightclamp_leak_rate_low_pascals_per_second",
			"Lower bound of the leak rate, 95 %.",
			func(in reading) { in.emit(in.LeakRate.Low / 3600) }),
		gauge("nightclamp_leak_rate_high_pascals_per_second",
			"Upper bound of the leak rate, 95 %.",
			func(in reading) { in.emit(in.LeakRate.High / 3600) }),
		gauge("nightclamp_leaking",
			"1 while a leak is certain enough to be said.",
			func(in reading) { in.emit(yes(in.Leaking)) }),
		gauge("nightclamp_settled",
			"1 once the rise after pull-down has died away.",
			func(in reading) { in.emit(yes(in.Settled)) }),
		gauge("nightclamp_floor_crossing_remaining_seconds",
			"Time until the vacuum is expected to fall to the floor; left out when it does not within the forecast.",
			func(in reading) { in.emit(in.ahead(in.FloorAt.Expected)) }),
		gauge("nightclamp_floor_crossing_remaining_early_seconds",
			"Time until the vacuum may fall to the floor at the earliest.",
			func(in reading) { in.emit(in.ahead(in.FloorAt.Early)) }),
		gauge("nightclamp_floor_crossing_remaining_late_seconds",
			"Time until the vacuum falls to the floor at the latest.",
			func(in reading) { in.emit(in.ahead(in.FloorAt.Late)) }),
	}
}

func cures() []family {
	all := band("nightclamp_cure_progress", "ratio", "Share of the press time earned",
		func(st press.Status) press.Band { return st.Progress })
	all = append(all, band("nightclamp_clamped_progress", "ratio",
		"Share of the press time earned while the vacuum was at or above the floor",
		func(st press.Status) press.Band { return st.ClampedProgress })...)
	all = append(all, band("nightclamp_margin", "seconds",
		"Floor crossing minus press time reached; negative: the bag fails first",
		func(st press.Status) press.Band { return st.MarginS })...)
	return append(all,
		gauge("nightclamp_assembly_open_remaining_seconds",
			"Time until the faces must be together; 0 when that is over, left out when the stack is under vacuum.",
			func(in reading) { in.emit(in.ahead(in.OpenLimit)) }),
		gauge("nightclamp_assembly_closed_remaining_seconds",
			"Time until the stack must be under vacuum; 0 when that is over, left out when it is.",
			func(in reading) { in.emit(in.ahead(in.ClosedLimit)) }),
		gauge("nightclamp_press_time_remaining_seconds",
			"Time until the press time is expected to be earned; left out when it never is at this temperature.",
			func(in reading) { in.emit(in.ahead(in.PressTimeAt.Expected)) }),
		gauge("nightclamp_press_time_remaining_early_seconds",
			"Time until the press time may be earned at the earliest.",
			func(in reading) { in.emit(in.ahead(in.PressTimeAt.Early)) }),
		gauge("nightclamp_press_time_remaining_late_seconds",
			"Time until the press time is earned at the latest.",
			func(in reading) { in.emit(in.ahead(in.PressTimeAt.Late)) }),
		gauge("nightclamp_hold_chance_ratio",
			"Probability that the bag stays above the floor until the press time if nobody touches it.",
			func(in reading) { in.emit(in.HoldChance) }),
		gauge("nightclamp_top_ups_needed",
			"Top-ups that it takes for the press time to be earned for sure; more may not be enough.",
			func(in reading) { in.emit(press.Num(len(in.TopUpBy))) }),
		gauge("nightclamp_unclamped_ratio",
			"Share of the cure that was earned below the floor.",
			func(in reading) { in.emit(in.UnclampedShare) }),
		gauge("nightclamp_film_lost",
			"1 once the glue's film was spoiled by cold while wet; it stays so for the run.",
			func(in reading) { in.emit(yes(in.Lost)) }),
	)
}

// band is a number with its bounds as three families: the sum or mean over a
// label that held the bounds would mean nothing.
func band(name, unit, help string, of func(press.Status) press.Band) []family {
	return []family{
		gauge(name+"_"+unit, help+".", func(in reading) { in.emit(of(in.Status).Expected) }),
		gauge(name+"_low_"+unit, help+", lower bound.", func(in reading) { in.emit(of(in.Status).Low) }),
		gauge(name+"_high_"+unit, help+", upper bound.", func(in reading) { in.emit(of(in.Status).High) }),
	}
}
