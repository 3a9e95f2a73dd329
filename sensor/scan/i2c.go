package scan

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/sensor/bus"
)

// clockChip is the address that is left alone.
const clockChip = 0x69

// inside are the words by which the kernel names buses within a computer.
var inside = regexp.MustCompile(`(?i)smbus|ddc|gmbus|\baux\b|nvidia|radeon|amdgpu|i915|designware hdmi`)

// claimWait is how long the daemon may hold a part before its address is given
// up.
const claimWait = 2 * time.Second

// buses asks every I²C bus.
func (o Options) buses(ctx context.Context, r *Report) {
	numbers := o.busNumbers()
	if len(numbers) == 0 { // those that were asked for are not there either
		r.problem("There is no I²C bus (no /dev/i2c-*): switch I²C on in the board's settings (on many boards dtparam=i2c_arm=on) " +
			"and load the module: modprobe i2c-dev. Without I²C sensors this is as it should be.")
		return
	}
	for _, n := range o.Buses {
		if !slices.Contains(numbers, n) {
			r.problem("There is no I²C bus %s: %s.", n, thereAre(numbers))
		}
	}
	for _, n := range numbers {
		name := o.read("sys/class/i2c-dev/i2c-"+n, "name")
		switch {
		case len(o.Buses) > 0 && !slices.Contains(o.Buses, n):
			continue
		case len(o.Buses) == 0 && inside.MatchString(name):
			r.did("I²C bus %s (%s) was left alone: it is one inside the computer. Ask it all the same with --bus %s.", n, name, n)
			continue
		}
		o.bus(ctx, r, n)
	}
}

// thereAre says which buses there are; there is one at least.
func thereAre(numbers []string) string {
	if len(numbers) == 1 {
		return "the only one is " + numbers[0]
	}
	last := len(numbers) - 1
	return "there are " + strings.Join(numbers[:last], ", ") + " and " + numbers[last]
}

func (o Options) busNumbers() []string {
	var numbers []string
	for _, path := range o.glob("dev/i2c-*") {
		n := strings.TrimPrefix(filepath.Base(path), "i2c-")
		if _, err := strconv.Atoi(n); err == nil {
			numbers = append(numbers, n)
		}
	}
	slices.SortFunc(numbers, func(a, b string) int { return number(a) - number(b) })
	return numbers
}

func number(text string) int {
	n, _ := strconv.Atoi(text) //nolint:errcheck // busNumbers let only numbers through
	return n
}

// bus asks every address of one bus.
func (o Options) bus(ctx context.Context, r *Report, n string) {
	asked, found := 0, 0
	for address := bus.FirstAddress; address <= bus.LastAddress && ctx.Err() == nil; address++ {
		if holder := o.heldByKernel(n, address); holder != "" {
			r.did("I²C bus %s, 0x%02x was left to the kernel, whose driver %s has it.", n, address, holder)
			continue
		}
		if address == clockChip {
			continue
		}
		there, err := o.ask(ctx, n, address)
		asked++
		if err != nil {
			r.problem("I²C bus %s was given up at 0x%02x: %v.", n, address, err)
			break
		}
		if !there {
			continue
		}
		found++
		r.Finds = append(r.Finds, o.describe(ctx, r, n, address))
	}
	r.did("I²C bus %s: read one byte from each of %d addresses, wrote none; %d answered. 0x%02x was left alone: a read can stop clock chips.",
		n, asked, found, clockChip)
	if o.Identify {
		o.silent(ctx, r, n)
	} else {
		r.did("I²C bus %s: an SHT4x answers no bare read. --identify asks for one.", n)
	}
}

// ask reads one byte. There is false when nothing answers; an error means that
// the bus cannot be used.
func (o Options) ask(ctx context.Context, n string, address int) (there bool, err error) {
	_, err = o.transfer(ctx, n, address, nil, 1)
	if err == nil {
		return true, nil
	}
	if bus.Absent(err) {
		return false, nil
	}
	return false, err
}

// transfer makes one transfer under the part's claim, so that the daemon is not
// disturbed in the middle of a conversion.
func (o Options) transfer(ctx context.Context, n string, address int, write []byte, read int) ([]byte, error) {
	dev, err := o.Host.Device(n, address)
	if err != nil {
		return nil, err
	}
	defer dev.Close() //nolint:errcheck // it was only read
	ctx, cancel := context.WithTimeout(ctx, claimWait)
	defer cancel()
	release, err := dev.Claim(ctx)
	if err != nil {
		return nil, err
	}
	defer release()
	answer := make([]byte, read)
	return answer, dev.Tx(write, answer)
}

// heldByKernel is the name of the kernel driver that has an address.
func (o Options) heldByKernel(n string, address int) string {
	target, err := os.Readlink(o.path(fmt.Sprintf("sys/bus/i2c/devices/%s-%04x/driver", n, address)))
	if err != nil {
		return ""
	}
	return filepath.Base(target)
}

// describe says what an address that answers may be.
func (o Options) describe(ctx context.Context, r *Report, n string, address int) Find {
	may := mayBe(address)
	f := Find{Where: fmt.Sprintf("I²C bus %s, 0x%02x", n, address), What: "answers a read", Drivers: []string{}}
	if o.Identify {
		if c, ok := o.identify(ctx, r, n, address, may); ok {
			may = []candidate{c}
			f.What = "is by its identity a part for " + c.driver
		}
	}
	for _, c := range may {
		f.Drivers = append(f.Drivers, c.driver)
	}
	switch {
	case len(may) == 0:
		f.Note = "No driver of ours has a part at this address."
		return f
	case may[0].converter:
		f.Note = "Only a converter is seen, not what hangs on it: say which driver, and the channel (nightclamp sensor list " + may[0].driver + ")."
	case len(may) > 1:
		f.Note = "The address does not tell which: go by the part in your hand."
	}
	for _, c := range may {
		f.Note = strings.TrimSpace(f.Note + " " + c.note)
	}
	lines := []string{fmt.Sprintf("bus = %q", n), fmt.Sprintf("address = 0x%02x", address)}
	if may[0].model != "" {
		lines = append(lines, may[0].model)
	}
	f.Config = table(may[0].driver, lines...)
	return f
}

// identify asks the candidates with an identity for it.
func (o Options) identify(ctx context.Context, r *Report, n string, address int, may []candidate) (candidate, bool) {
	for _, c := range may {
		if c.is == nil {
			continue
		}
		r.did("I²C bus %s, 0x%02x: wrote the register number 0x%02x and read it, to see whether it is for %s.", n, address, c.identity, c.driver)
		answer, err := o.transfer(ctx, n, address, []byte{c.identity}, 2)
		if err != nil {
			continue
		}
		if c.driver == "mcp9808" && answer[1] != mcp9808Maker {
			continue
		}
		if slices.Contains(c.is, answer[0]) {
			return c, true
		}
	}
	return candidate{}, false
}

// mcp9808Maker is the second byte of the maker's number 0x0054 in register 6.
const mcp9808Maker = 0x54

// sht4xSerial is the command that asks an SHT4x for its serial number
// (Sensirion, SHT4x datasheet, table of commands; from memory).
const sht4xSerial = 0x89

// silent asks for a part that answers no bare read.
func (o Options) silent(ctx context.Context, r *Report, n string) {
	for _, c := range candidates() {
		if c.driver != "sht4x" {
			continue
		}
		for _, address := range append([]int{c.usual}, c.others...) {
			if o.heldByKernel(n, address) != "" || ctx.Err() != nil {
				continue
			}
			if there, err := o.ask(ctx, n, address); there || err != nil {
				continue // what answers a bare read is none
			}
			r.did("I²C bus %s, 0x%02x: asked an SHT4x for its serial number, which writes the byte 0x%02x.", n, address, sht4xSerial)
			if _, err := o.transfer(ctx, n, address, []byte{sht4xSerial}, 0); err == nil {
				r.Finds = append(r.Finds, Find{
					Where: fmt.Sprintf("I²C bus %s, 0x%02x", n, address), What: "answers a command of an SHT4x, but no bare read",
					Drivers: []string{c.driver}, Config: table(c.driver, fmt.Sprintf("bus = %q", n), fmt.Sprintf("address = 0x%02x", address)),
				})
			}
		}
	}
}
