package cure_test

import (
	"fmt"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
)

// A bent blank in two-part urea-formaldehyde: five hours at 10 °C, then a
// heated morning at 20 °C.
func Example() {
	sheet, _, err := datasheets.Load("uf-two-part")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := cure.NewProgress(sheet, cure.Options{Strained: true})
	for t := 0.0; t <= 5*3600; t += 60 {
		p.Add(t, 10, true)
	}
	s := p.State()
	fmt.Printf("earned %.0f %% to %.0f %%\n", 100*s.Clamped.Low, 100*s.Clamped.High)
	left := p.Remaining(cure.Steady(cure.Band{Low: 18, Expected: 20, High: 21}))
	fmt.Printf("left %.1f h to %.1f h\n", left.Low/3600, left.High/3600)
	// Output:
	// earned 42 % to 50 %
	// left 1.6 h to 2.4 h
}
