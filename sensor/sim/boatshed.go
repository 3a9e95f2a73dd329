package sim

import "time"

// BoatShed is the demo: a birch sled deck pressed in an unheated boat shed on
// an October night, 30 hours from the first glue. It is invented.
//
// Begun at 19:40 ([BoatShedBegins]) it goes like this: glue until 19:49, then
// the pump; trapped air and moisture come out in the first hour; at 01:00 a
// seam, stiff with cold, opens to 2 kPa/h; at 02:10 somebody tops the vacuum up
// and presses the seam shut, so that a trickle remains; the sun warms the shed
// from the morning on; a front takes the barometer down by 9 hPa in the night;
// the bag is opened after 29 hours. A frost guard keeps the glue above 12 °C.
func BoatShed() Config {
	c := Plain()
	c.Seed = 7
	c.Bag.Pockets = []Pocket{{Share: 0.03, Lag: 4 * time.Minute}, {Share: 0.02, Lag: 35 * time.Minute}}
	c.Bag.WaterActivity = 0.9
	c.Shop = Shop{
		MeanC: 15.5, SwingC: 3, WarmestHour: 15.5,
		WanderC: 0.3, WanderLag: 40 * time.Minute,
		HeaterOnC: 12.6, HeaterOffC: 13.8, HeaterK: 5, HeaterLag: 25 * time.Minute,
		HumidityPct: 78,
	}
	c.Room = Room{PressurePa: 101200, WanderPa: 25, WanderLag: 2 * time.Hour}
	c.Pump = Pump{SpeedLPerMin: 10, UltimatePa: 14500}
	c.Part = Part{NoisePa: 8, StepPa: 1, AmbientNoisePa: 1.5, TempNoiseC: 0.03, TempStepC: 0.0625}
	c.Scenario = Scenario{
		PumpRuns: []PumpRun{
			{From: 9 * time.Minute, To: 19 * time.Minute},
			{From: 6*time.Hour + 30*time.Minute, To: 6*time.Hour + 36*time.Minute, ToVacuumPa: 84500},
		},
		Leaks: []Leak{
			{PaPerH: 40},
			{From: 5*time.Hour + 20*time.Minute, To: 6*time.Hour + 31*time.Minute, PaPerH: 2000},
			{From: 6*time.Hour + 31*time.Minute, PaPerH: 60},
		},
		Fronts:  []Front{{From: 2 * time.Hour, To: 9 * time.Hour, ByPa: -900}},
		Release: 29 * time.Hour,
	}
	return c
}

// BoatShedLength is how long the demo goes on after its begin: the bag has
// been open for an hour.
const BoatShedLength = 30 * time.Hour

// BoatShedBegins is the moment for which [BoatShed] was written: Friday, 16
// October 2026, 19:40 in loc.
func BoatShedBegins(loc *time.Location) time.Time {
	return time.Date(2026, time.October, 16, 19, 40, 0, 0, loc)
}
