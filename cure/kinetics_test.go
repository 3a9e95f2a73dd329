package cure

import "testing"

// Source: the closed forms of the nth-order rate law, k = 0.1 /h; values
// computed in double precision.
func TestConversionIsothermal(t *testing.T) {
	for _, row := range []struct{ t, n1, n15, n2 float64 }{
		{1, .095163, .092971, .090909},
		{5, .393469, .360000, .333333},
		{10, .632121, .555556, .500000},
		{20, .864665, .750000, .666667},
		{24, .909282, .793388, .705882},
	} {
		almost(t, "n = 1", Conversion(.1, 1, row.t), row.n1, 1e-6)
		almost(t, "n = 1.5", Conversion(.1, 1.5, row.t), row.n15, 1e-6)
		almost(t, "n = 2", Conversion(.1, 2, row.t), row.n2, 1e-6)
	}
	for _, row := range []struct{ a, n1, n15, n2 float64 }{
		{.5, 6.9315, 8.2843, 10},
		{.8, 16.0944, 24.7214, 40},
		{.9, 23.0259, 43.2456, 90},
		{.95, 29.9573, 69.4427, 190},
		{.99, 46.0517, 180, 990},
	} {
		almost(t, "time, n = 1", TimeTo(.1, 1, row.a), row.n1, 1e-4)
		almost(t, "time, n = 1.5", TimeTo(.1, 1.5, row.a), row.n15, 1e-4)
		almost(t, "time, n = 2", TimeTo(.1, 2, row.a), row.n2, 1e-4)
	}
}

// Source: DiBenedetto 1987; values computed in double precision. The second
// resin is made up to show the shape, not published.
func TestDiBenedetto(t *testing.T) {
	for _, row := range [][2]float64{{.25, 14.2857}, {.5, 60}, {.75, 124}, {.8, 140}, {.9, 176.3636}, {.95, 197.1429}, {1, 220}} {
		almost(t, "Tg", GlassTransition(-20, 220, .5, row[0]), row[1], 1e-4)
	}
	for _, row := range [][2]float64{{5, .6135}, {10, .6528}, {15, .6897}, {20, .7242}, {25, .7568}, {40, .8437}} {
		almost(t, "stalls at", StallsAt(-45, 75, .45, row[0]), row[1], 6e-5)
	}
	almost(t, "below everything", StallsAt(-45, 75, .45, -60), 0, 0)
}
