package bustest

import "math"

// ADS1115 is that converter at register level: a write to its config register
// starts a conversion of the selected input, which stays unready for some
// reads of that register. It knows single-ended inputs only.
type ADS1115 struct {
	Volts     [4]float64
	BusyReads int // how many reads find it converting

	busy       int
	pointer    byte
	config     uint16
	conversion int16
}

// Tx is a transfer.
func (c *ADS1115) Tx(w, r []byte) error {
	if len(w) > 0 {
		c.pointer = w[0]
	}
	if len(w) == 3 && w[0] == 1 {
		c.config = uint16(w[1])<<8 | uint16(w[2])
		c.convert()
	}
	if len(r) < 2 {
		return nil
	}
	word := uint16(c.conversion) //nolint:gosec // two's complement on the wire
	if c.pointer == 1 {
		word = c.config | 0x8000
		if c.busy > 0 {
			c.busy--
			word &^= 0x8000
		}
	}
	r[0], r[1] = byte(word>>8), byte(word)
	return nil
}

func (c *ADS1115) convert() {
	c.busy = c.BusyReads
	span := []float64{6.144, 4.096, 2.048, 1.024, 0.512, 0.256, 0.256, 0.256}[c.config>>9&7]
	raw := math.Round(c.Volts[c.config>>12&3] / span * 32768)
	c.conversion = int16(min(max(raw, -32768), 32767))
}
