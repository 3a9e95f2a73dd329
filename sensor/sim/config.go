package sim

import (
	"fmt"
	"time"
)

// Config describes the bag, the room and the parts that read them, and what
// happens. [Plain] fills in a bag that only needs a scenario.
type Config struct {
	// Seed makes the noise and the weather repeatable.
	Seed uint64 `toml:"seed" doc:"makes noise and weather repeatable"`
	// Start is when the scenario begins; zero: at the first Step. Its zone
	// tells the time of day for the shop's temperature.
	Start time.Time `toml:"start" doc:"when the scenario begins; unset: at the first reading"`

	Bag      Vessel   `toml:"bag"`
	Shop     Shop     `toml:"shop"`
	Room     Room     `toml:"room"`
	Pump     Pump     `toml:"pump"`
	Part     Part     `toml:"part"`
	Scenario Scenario `toml:"script"`
}

// Vessel is the bag with the work in it.
type Vessel struct {
	FreeVolumeL   float64       `toml:"free_volume_l" doc:"air space in bag, breather and line, litres"`
	Pockets       []Pocket      `toml:"pockets" doc:"air trapped in the work: {share, lag}"`
	LineL         float64       `toml:"line_l" doc:"the part of that in the hose and at the part, litres"`
	UnrestPa      float64       `toml:"unrest_pa" doc:"how the bag flutters: standard deviation of its pressure in a reading, Pa"`
	WaterActivity float64       `toml:"water_activity" doc:"how near the vapour comes to saturation at the glue line, 0 to 1"`
	VapourLag     time.Duration `toml:"vapour_lag" doc:"how fast vapour fills the bag"`
	GasLag        time.Duration `toml:"gas_lag" doc:"how far the gas in the bag lags the shop's air"`
	GluelineLag   time.Duration `toml:"glueline_lag" doc:"how far the glue line lags the shop's air"`
	GasPaPerH     float64       `toml:"gas_pa_per_h" doc:"gas given off by the glue, as a rise of the bag's pressure, Pa/h at first"`
	GasDies       time.Duration `toml:"gas_dies" doc:"time constant with which that gas ends"`
}

// Pocket is air trapped between the plies or in the foam. It holds share times
// the free volume and comes out with the time constant Lag.
type Pocket struct {
	Share float64       `toml:"share"`
	Lag   time.Duration `toml:"lag"`
}

// Shop is the air around the press: a day's wave, a slow wander, a heater.
type Shop struct {
	MeanC       float64       `toml:"mean_c" doc:"mean temperature, °C"`
	SwingC      float64       `toml:"swing_c" doc:"half of the day's swing, K"`
	WarmestHour float64       `toml:"warmest_hour" doc:"local hour of the warmest moment, 0 to 24"`
	WanderC     float64       `toml:"wander_c" doc:"standard deviation of a slow random part, K"`
	WanderLag   time.Duration `toml:"wander_lag" doc:"its correlation time"`
	HeaterOnC   float64       `toml:"heater_on_c" doc:"the frost guard starts below this, °C"`
	HeaterOffC  float64       `toml:"heater_off_c" doc:"and stops above this, °C"`
	HeaterK     float64       `toml:"heater_k" doc:"how much it can warm the shop, K; 0: there is none"`
	HeaterLag   time.Duration `toml:"heater_lag" doc:"time constant of its warmth"`
	HumidityPct float64       `toml:"humidity_pct" doc:"relative humidity of the room, %"`
}

// Room is the barometer.
type Room struct {
	PressurePa float64       `toml:"pressure_pa" doc:"station pressure at the start, Pa"`
	WanderPa   float64       `toml:"wander_pa" doc:"standard deviation of a slow random part, Pa"`
	WanderLag  time.Duration `toml:"wander_lag" doc:"its correlation time"`
}

// Pump moves gas out of the bag: at a constant speed, or by strokes when
// StrokeL is set.
type Pump struct {
	SpeedLPerMin  float64 `toml:"speed_l_per_min" doc:"speed of an electric pump, l/min"`
	StrokeL       float64 `toml:"stroke_l" doc:"volume of one stroke of a hand pump, litres; 0: an electric pump"`
	StrokesPerMin float64 `toml:"strokes_per_min" doc:"strokes a minute"`
	UltimatePa    float64 `toml:"ultimate_pa" doc:"the lowest bag pressure it can reach, Pa"`
}

// Part is what is wrong with the readings.
type Part struct {
	NoisePa        float64 `toml:"noise_pa" doc:"standard deviation of one bag reading, Pa"`
	StepPa         float64 `toml:"step_pa" doc:"bag readings come in steps of this, Pa"`
	DriftPaPerH    float64 `toml:"drift_pa_per_h" doc:"drift of the bag reading, Pa/h"`
	DriftPaPerK    float64 `toml:"drift_pa_per_k" doc:"temperature error of the bag reading, Pa/K from 20 °C"`
	OffsetPa       float64 `toml:"offset_pa" doc:"constant error of the bag reading, Pa"`
	AmbientNoisePa float64 `toml:"ambient_noise_pa" doc:"standard deviation of one barometer reading, Pa"`
	TempNoiseC     float64 `toml:"temp_noise_c" doc:"standard deviation of one temperature reading, K"`
	TempStepC      float64 `toml:"temp_step_c" doc:"temperatures come in steps of this, K"`
	Gauge          bool    `toml:"gauge" doc:"the part measures against the room: the bag is derived"`
	NoAmbient      bool    `toml:"no_ambient" doc:"there is no barometer"`
	NoGlueline     bool    `toml:"no_glueline" doc:"there is no thermometer at the glue line"`
	NoAir          bool    `toml:"no_air" doc:"there is no thermometer in the room"`
	NoHumidity     bool    `toml:"no_humidity" doc:"there is no hygrometer in the room"`
}

// Plain is a small bag with nothing happening: 5 litres, an electric pump,
// 20 °C, a still barometer, perfect readings.
func Plain() Config {
	return Config{
		Seed: 1,
		Bag: Vessel{
			FreeVolumeL: 5, LineL: 0.05,
			VapourLag:   8 * time.Minute,
			GasLag:      10 * time.Minute,
			GluelineLag: 90 * time.Minute,
			GasDies:     2 * time.Hour,
		},
		Shop: Shop{
			MeanC: 20, WarmestHour: 15, WanderLag: time.Hour, HeaterLag: 20 * time.Minute,
			HumidityPct: 60,
		},
		Room: Room{PressurePa: standardRoomPa, WanderLag: 3 * time.Hour},
		Pump: Pump{SpeedLPerMin: 8, UltimatePa: 8000},
	}
}

// Check says what in the config cannot be simulated.
func (c Config) Check() error {
	for _, v := range []struct {
		key      string
		value    float64
		min, max float64
	}{
		{"bag.free_volume_l", c.Bag.FreeVolumeL, 0.01, 1e5},
		{"bag.line_l", c.Bag.LineL, 0.001, 100},
		{"bag.unrest_pa", c.Bag.UnrestPa, 0, 1e4},
		{"bag.water_activity", c.Bag.WaterActivity, 0, 1},
		{"bag.gas_pa_per_h", c.Bag.GasPaPerH, 0, 1e6},
		{"shop.mean_c", c.Shop.MeanC, -40, 60},
		{"shop.swing_c", c.Shop.SwingC, 0, 40},
		{"shop.warmest_hour", c.Shop.WarmestHour, 0, 24},
		{"shop.wander_c", c.Shop.WanderC, 0, 20},
		{"shop.heater_k", c.Shop.HeaterK, 0, 60},
		{"shop.humidity_pct", c.Shop.HumidityPct, 0, 100},
		{"room.pressure_pa", c.Room.PressurePa, 40000, 120000},
		{"room.wander_pa", c.Room.WanderPa, 0, 5000},
		{"pump.speed_l_per_min", c.Pump.SpeedLPerMin, 0, 1e5},
		{"pump.stroke_l", c.Pump.StrokeL, 0, 100},
		{"pump.strokes_per_min", c.Pump.StrokesPerMin, 0, 600},
		{"pump.ultimate_pa", c.Pump.UltimatePa, 0, 101325},
		{"part.noise_pa", c.Part.NoisePa, 0, 1e5},
		{"part.step_pa", c.Part.StepPa, 0, 1e5},
		{"part.ambient_noise_pa", c.Part.AmbientNoisePa, 0, 1e5},
		{"part.temp_noise_c", c.Part.TempNoiseC, 0, 50},
		{"part.temp_step_c", c.Part.TempStepC, 0, 50},
	} {
		// Not-a-number fails both comparisons, so ask for the good case.
		if !(v.value >= v.min && v.value <= v.max) {
			return fmt.Errorf("simulated bag: %s is %g: give a value from %g to %g", v.key, v.value, v.min, v.max)
		}
	}
	for i, p := range c.Bag.Pockets {
		if !(p.Share >= 0 && p.Share <= 1) {
			return fmt.Errorf("simulated bag: share of pocket %d is %g: give a share of the free volume, 0 to 1", i+1, p.Share)
		}
	}
	return c.Scenario.check()
}
