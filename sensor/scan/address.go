package scan

import (
	"fmt"
	"slices"
	"strings"

	"github.com/nightclamp/nightclamp/sensor/abp2"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bme280"
	"github.com/nightclamp/nightclamp/sensor/bmp388"
	"github.com/nightclamp/nightclamp/sensor/currentloop"
	"github.com/nightclamp/nightclamp/sensor/hsc"
	"github.com/nightclamp/nightclamp/sensor/lps22"
	"github.com/nightclamp/nightclamp/sensor/mcp9808"
	"github.com/nightclamp/nightclamp/sensor/mpr"
	"github.com/nightclamp/nightclamp/sensor/ms5803"
	"github.com/nightclamp/nightclamp/sensor/sht4x"
	"github.com/nightclamp/nightclamp/sensor/thermistor"
)

// candidate is a driver and the addresses that its parts may have.
type candidate struct {
	driver    string
	usual     int   // what the driver takes when nothing is set
	others    []int // by a pin or by the part number
	identity  byte  // the register of its identity; see is
	is        []byte
	converter bool   // only a converter is seen, not what hangs on it
	model     string // a line that the address cannot tell, as an example
	note      string // what to change in it
}

// candidates is the table of what may answer, the likelier first. The other
// addresses are those of the drivers' own notes and, for hsc and abp2, of the
// makers' order guides (from memory).
func candidates() []candidate {
	converter := []int{0x49, 0x4A, 0x4B}
	return []candidate{
		{driver: "mpr", usual: mpr.Defaults().Address, others: []int{0x08, 0x28, 0x38, 0x48, 0x58, 0x68, 0x78}},
		{driver: "mcp9808", usual: mcp9808.Defaults().Address, others: []int{0x19, 0x1A, 0x1B, 0x1C, 0x1D, 0x1E, 0x1F}, identity: 0x06, is: []byte{0x00}},
		{driver: "abp2", usual: abp2.Defaults().Address, others: []int{0x08, 0x18, 0x38, 0x48, 0x58, 0x68, 0x78}},
		{driver: "hsc", usual: hsc.Defaults().Address, others: []int{0x38, 0x48, 0x58, 0x68, 0x78}},
		{driver: "sht4x", usual: sht4x.Defaults().Address, others: []int{0x45, 0x46}},
		{driver: "ads1115", usual: ads1115.Defaults().Address, others: converter, converter: true},
		{driver: "currentloop", usual: currentloop.Defaults().Address, others: converter, converter: true},
		{driver: "thermistor", usual: thermistor.Defaults().Address, others: converter, converter: true},
		{driver: "lps22", usual: lps22.Defaults().Address, others: []int{0x5C}, identity: 0x0F, is: []byte{0xB1, 0xB3}},
		{driver: "bme280", usual: bme280.Defaults().Address, others: []int{0x77}, identity: 0xD0, is: []byte{0x60, 0x58, 0x57, 0x56}},
		{driver: "bmp388", usual: bmp388.Defaults().Address, others: []int{0x76}, identity: 0x00, is: []byte{0x50, 0x60}},
		{
			driver: "ms5803", usual: ms5803.Defaults().Address, others: []int{0x77}, model: fmt.Sprintf("model = %q", ms5803.Defaults().Model),
			note: "An MS5803, MS5611 or MS5837 needs its number as model (" + strings.Join(ms5803.Models(), ", ") + ").",
		},
	}
}

func (c candidate) at(address int) bool {
	return c.usual == address || slices.Contains(c.others, address)
}

// mayBe returns what an address may be: drivers whose usual address it is come
// first.
func mayBe(address int) []candidate {
	var usual, others []candidate
	for _, c := range candidates() {
		switch {
		case c.usual == address:
			usual = append(usual, c)
		case c.at(address):
			others = append(others, c)
		}
	}
	return append(usual, others...)
}
