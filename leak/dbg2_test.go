package leak

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestTrace(t *testing.T) {
	const rateWanted = 500.0
	for seed := range uint64(3) {
		rng := rand.New(rand.NewPCG(seed, 3))
		e := New(Config{})
		last := 0.0
		for t := 0.0; t < 7200+400; t++ {
			e.Add(Reading{T: t, Bag: 16000 + 20*rng.NormFloat64() + rateWanted/3600*math.Max(0, t-7200), Ambient: 101325, Gas: 15, Air: 15})
			since := t - 7200
			if since > 60 && e.fastAt != last {
				last = e.fastAt
				i, j := e.trend.best()
				if i < 0 || j < 0 {
					fmt.Println("none", since)
					continue
				}
				ramp, jump := e.trend.all[i], e.trend.all[j]
				st := e.recent.stories(e.trend.born[i], 60)
				c, l := math.Min(st.jump, st.small), st.late
				fmt.Printf("%.0f g %.1f j %.1f onset %.0f size %.0f clear %.1f late %.1f fits %v leaking %v drift %.0f wild %.0f sdrate %.0f sdlevel %.1f slowg\n", since, ramp.ramp.gain(), jump.jump.gain(), e.trend.born[i]-7200, ramp.ramp.size()*hour, c, l, e.trend.fits(i), e.said.leaking, e.trend.drift*hour, math.Sqrt(e.wild)*hour, e.leakSD*hour, math.Sqrt(e.trend.ll))
			}
		}
	}
}
