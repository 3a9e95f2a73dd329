package drivers

import (
	"context"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// simConfig is a scenario by its name, with changes to it.
type simConfig struct {
	Name       string `toml:"scenario" doc:"boat-shed, the night of the demo, or plain, where nothing happens; all else changes it"`
	sim.Config `toml:",squash"`
}

// scenarios are the simulated nights that have a name.
func scenarios() map[string]func() sim.Config {
	return map[string]func() sim.Config{"boat-shed": sim.BoatShed, "plain": sim.Plain}
}

const defaultScenario = "boat-shed"

// simulated is the driver of the simulated bag: which defaults its options
// change depends on one of them.
func simulated() Driver {
	const summary = "a simulated bag, for trying nightclamp without a press"
	of := func(name string, night func() sim.Config) Driver {
		return define("sim", summary, all, 0, simConfig{Name: name, Config: night()}, opens(openSim))
	}
	d := of(defaultScenario, sim.BoatShed)
	d.Configure = func(env Env, o Options) (Part, error) {
		name, ok := o["scenario"].(string)
		if !ok {
			name = defaultScenario // a scenario that is no text is refused below
		}
		night, known := scenarios()[name]
		if !known {
			return Part{}, &OptionError{Key: "scenario", Problem: "is " + name + ": there are boat-shed and plain"}
		}
		return of(name, night).Configure(env, o)
	}
	return d
}

// Check refuses a night that cannot be.
func (c simConfig) Check() error { return c.Config.Check() }

// Reads leaves out the parts that this press does not have.
func (c simConfig) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Bag}
	for _, part := range []struct {
		missing bool
		reads   sensor.Quantity
	}{{c.Part.NoAmbient, sensor.Ambient}, {c.Part.NoGlueline, sensor.GlueLine}, {c.Part.NoAir, sensor.Air}, {c.Part.NoHumidity, sensor.Humidity}} {
		if !part.missing {
			reads = append(reads, part.reads)
		}
	}
	return reads
}

func openSim(_ context.Context, env Env, c simConfig) (sensor.Source, error) {
	return sim.NewSource(sim.New(c.Config), env.Now), nil
}
