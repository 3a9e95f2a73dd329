package sim

import (
	"math"

	"github.com/nightclamp/nightclamp/sensor"
)

const (
	gasConstant    = 8.314462618 // J/(mol·K), CODATA 2018
	dryAir         = 287.05      // J/(kg·K), specific gas constant of dry air
	molarMassAir   = gasConstant / dryAir
	zeroC          = 273.15 // K
	standardRoomPa = sensor.StandardAtmosphere
	standardRoomK  = 293.15 // K; leaks are named at this temperature of the room
)

// criticalRatio is (2/(γ+1))^(γ/(γ−1)) for γ = 1.4: below it the flow through
// a hole does not depend on the pressure behind it.
const criticalRatio = 0.5282817877171742

// chokedFactor is sqrt(γ)·(2/(γ+1))^3 for γ = 1.4.
const chokedFactor = 0.6847314563772703

// ChokedFlow is the mass flow of air, kg/s, through an ideal round hole of
// the given diameter (m) from a room at p0 (Pa) and t0 (K) into a bag below
// 0.528 of p0: A·p0·chokedFactor/sqrt(R·t0), ISO 9300 with a discharge
// coefficient of one.
func ChokedFlow(diameter, p0, t0 float64) float64 {
	area := math.Pi / 4 * diameter * diameter
	return area * p0 * chokedFactor / math.Sqrt(dryAir*t0)
}

// FlowShare is the flow through a hole with ratio = bag/room pressure, as a
// share of the choked flow: 1 up to the critical ratio, 0 at 1 and above.
func FlowShare(ratio float64) float64 {
	switch {
	case ratio <= criticalRatio:
		return 1
	case ratio >= 1:
		return 0
	}
	// With x = r^(1/γ): r^(2/γ) − r^((γ+1)/γ) = x² − r·x. One Pow, not two.
	x := math.Pow(ratio, 1/1.4)
	return math.Sqrt(7*(x*x-ratio*x)) / chokedFactor
}

// seamShare is the same for a long narrow path, as a share of the flow into
// an empty bag.
func seamShare(ratio float64) float64 {
	if ratio >= 1 {
		return 0
	}
	return 1 - ratio*ratio
}

// SaturationPa is the pressure of water vapour over liquid water at c °C, Pa:
// the Magnus form of the WMO Guide No. 8.
func SaturationPa(c float64) float64 {
	return 611.2 * math.Exp(17.62*c/(243.12+c))
}
