package compare

import (
	"fmt"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Say tells a fit in plain sentences.
func (f Fitted) Say(d units.Display) string {
	switch f.What {
	case LeakRate:
		return f.sayLeak(func(n press.Num) string { return d.Rate(float64(n)) })
	case SpringbackAcross:
		return f.sayBack("across")
	}
	return f.sayBack("along")
}

func share(n press.Num) string { return fmt.Sprintf("%.1f %%", 100*float64(n)) }

// seen says what was measured so far.
func (f Fitted) seen(write func(press.Num) string) string {
	if f.N == 1 {
		return "one run was measured, " + write(f.High)
	}
	return fmt.Sprintf("%d runs were measured, %s to %s", f.N, write(f.Low), write(f.High))
}

func (f Fitted) sayBack(way string) string {
	text := fmt.Sprintf("Springback %s: %s. ", way, f.seen(share))
	if f.Model == NoModel {
		return text + tooFew()
	}
	within := fmt.Sprintf("within %s to %s in nine cases of ten", share(f.Next.Low), share(f.Next.High))
	if f.Model == Mean {
		return text + fmt.Sprintf("All were foretold much the same, about %s, so a mean is all that can be had: the next such board gives back %s, %s.%s",
			share(f.At), share(f.Next.Expected), within, f.beyond("a lay-up unlike those"))
	}
	return text + fmt.Sprintf("Where the lay-up foretells %s, they say %s, %s.%s%s",
		share(f.At), share(f.Next.Expected), within, f.sayRatio(), f.beyond("a lay-up unlike those"))
}

// sayRatio says whether what was measured follows what was foretold at all.
func (f Fitted) sayRatio() string {
	switch b := f.Slope.Band; {
	case b.Low <= 0 && b.High >= 0:
		return " Whether what was foretold tells anything of what is measured cannot be told yet."
	case b.Low <= 1 && b.High >= 1:
		return ""
	case b.High < 1:
		return " What is measured rises less than what is foretold."
	}
	return " What is measured rises more than what is foretold."
}

func (f Fitted) sayLeak(write func(press.Num) string) string {
	text := fmt.Sprintf("Bag of press %s: %s. ", f.Press, f.seen(write))
	if f.Model == NoModel {
		return text + tooFew()
	}
	trend := "No trend can be told from the scatter."
	switch b := f.Slope.Band; {
	case f.Model == Line && b.Low > 0:
		trend = fmt.Sprintf("It leaks more from run to run, by %s (%s to %s) each.", write(f.Slope.Value), write(b.Low), write(b.High))
	case f.Model == Line && b.High < 0:
		trend = fmt.Sprintf("It leaks less from run to run, by %s (%s to %s) each.", write(-f.Slope.Value), write(-b.High), write(-b.Low))
	}
	return text + trend + fmt.Sprintf(" The next run: %s to %s in nine cases of ten, if nothing about the bag is changed.",
		write(press.Num(max(0, float64(f.Next.Low)))), write(f.Next.High))
}

func (f Fitted) beyond(what string) string {
	if f.Inside {
		return ""
	}
	return " That is " + what + ": nothing of the kind was measured, do not rely on it."
}

func tooFew() string {
	return fmt.Sprintf("That is too few to foretell from: it takes %d.", Fewest)
}
