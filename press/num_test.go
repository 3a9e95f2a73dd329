package press

import (
	"encoding/json"
	"math"
	"testing"
)

// Whatever a Num is, its JSON is a number or null, and reads back as near as
// its digits are good for.
func TestNumIsAlwaysJSON(t *testing.T) {
	for _, v := range []float64{0, -0.0000004, 99.9999996, 101325.0004, 1e12, 1e300, math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, math.NaN(), math.Inf(1)} {
		text, err := json.Marshal(Num(v))
		if err != nil {
			t.Errorf("%g: %v", v, err)
			continue
		}
		var back Num
		if err := json.Unmarshal(text, &back); err != nil {
			t.Errorf("%g: %s: %v", v, text, err)
		}
		if Num(v).Known() != back.Known() || back.Known() && math.Abs(float64(back)-v) > 1e-3 {
			t.Errorf("%g became %s", v, text)
		}
	}
}
