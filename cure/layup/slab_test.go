package layup

import (
	"math"
	"testing"
)

// mapleDeck is a stack of plies of sugar maple at 12 % and 20 °C.
func mapleDeck(thickness float64) Layer {
	return Layer{thickness, Conductivity(.63, 12), 705.6 * HeatCapacity(12, 20)}
}

func extruded(thickness float64) Layer {
	return Layer{thickness, .032, 32 * 1450}
}

// Source: the exact series for a slab with an insulated back (Carslaw and
// Jaeger, Conduction of Heat in Solids): 11 mm of maple, h = 8 W/(m² K):
// ζ = 0.660246 from ζ tan ζ = Bi, 1/e time of the first term 1848.7 s, C1 =
// 1.07160. At the back the first term is all there is after 20 minutes.
func TestSlabAgainstTheExactSeries(t *testing.T) {
	s := Slab{Layers: []Layer{mapleDeck(.011)}, FilmTop: 8}
	for _, share := range []float64{.5, -math.Expm1(-1), .9, .95} {
		want := 1848.7 * math.Log(1.07160/(1-share))
		almost(t, "rise, s", s.Rise(1, share), want, 0.01*want)
	}
}

// The bare sum for a thin body: capacity over film coefficient, when the body
// conducts far better than the film.
func TestSlabLumped(t *testing.T) {
	s := Slab{Layers: []Layer{{.01, 400, 3.4e6}}, FilmTop: 8}
	almost(t, "lag, s", s.Lag(1), .01*3.4e6/8, 15)
}

// Minutes until the bottom glue line of 11 mm of maple has gone through a share
// of a step of the air: values computed independently by one-dimensional
// finite differences (0.5 mm, 10 s) from the same published conductivities.
func TestSlabArrangements(t *testing.T) {
	shares := []float64{.5, .632, .9, .95}
	for _, row := range []struct {
		name string
		slab Slab
		n    int
		want [4]float64
	}{
		{"thin bag, h 8", Slab{[]Layer{mapleDeck(.011), extruded(.060)}, 8, 8}, 1, [4]float64{24.8, 34.7, 76.2, 98.2}},
		{"thin bag, h 5", Slab{[]Layer{mapleDeck(.011), extruded(.060)}, 5, 5}, 1, [4]float64{35.3, 49.5, 109.7, 141.7}},
		{"blanket", Slab{[]Layer{{.020, .04, 30 * 1000}, mapleDeck(.011), extruded(.075)}, 8, 8}, 2, [4]float64{89.8, 126.7, 282.7, 365.8}},
		{"between foam", Slab{[]Layer{extruded(.060), mapleDeck(.011), extruded(.060)}, 8, 8}, 2, [4]float64{184.7, 259.7, 578.2, 747.7}},
	} {
		for i, share := range shares {
			got := row.slab.Rise(row.n, share) / 60
			almost(t, row.name+", min", got, row.want[i], 0.01*row.want[i])
		}
	}
}

func BenchmarkSlabLag(b *testing.B) {
	s := Slab{[]Layer{extruded(.060), mapleDeck(.011), extruded(.060)}, 8, 8}
	for b.Loop() {
		s.Lag(2)
	}
}
