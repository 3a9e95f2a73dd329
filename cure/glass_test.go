package cure

import (
	"strings"
	"testing"
)

// Source: DiBenedetto 1987; values computed in double precision. The second
// resin is made up to show the shape, not published.
func TestDiBenedetto(t *testing.T) {
	for _, row := range [][2]float64{{.25, 14.2857}, {.5, 60}, {.75, 124}, {.8, 140}, {.9, 176.3636}, {.95, 197.1429}, {1, 220}} {
		almost(t, "Tg", Glass{-20, 220, .5}.Transition(row[0]), row[1], 1e-4)
	}
	for _, row := range [][2]float64{{5, .6135}, {10, .6528}, {15, .6897}, {20, .7242}, {25, .7568}, {40, .8437}} {
		almost(t, "stalls at", Glass{-45, 75, .45}.StallsAt(row[0]), row[1], 6e-5)
	}
	almost(t, "below everything", Glass{-45, 75, .45}.StallsAt(-60), 0, 0)
}

func TestSheetWithGlass(t *testing.T) {
	s, err := ParseSheet("mine.toml", []byte(smallSheet+"glass = { fresh_c = -45, full_c = 75, lambda = 0.45 }\n"))
	if err != nil {
		t.Fatal(err)
	}
	says(t, s.Explain(), "Held at 10 °C it stalls at about 65 % of full cure")
	for _, bad := range []string{"glass = { fresh_c = -45, full_c = 75 }", "glass = { fresh_c = 75, full_c = -45, lambda = 0.45 }", "glass = { fresh_c = -45, full_c = 75, lambda = 45 }"} {
		if _, err := ParseSheet("mine.toml", []byte(smallSheet+bad+"\n")); err == nil || !strings.Contains(err.Error(), "mine.toml:4: glass") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}
