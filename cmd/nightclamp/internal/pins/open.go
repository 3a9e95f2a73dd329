package pins

import (
	"fmt"
	"strings"
	"sync"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/host/v3"
	"periph.io/x/host/v3/gpioioctl"
)

// Pin is a pin, as far as it is used here.
type Pin interface {
	gpio.PinIn
	gpio.PinOut
}

// Board opens pins by their names. Tests put their own in its place.
type Board func(name string) (Pin, error)

// Machine opens the pins of this machine, by the names that its kernel gives them:
// gpioinfo(1) lists them. They are looked for once.
func Machine() Board {
	look := sync.OnceValue(func() error {
		_, err := host.Init()
		return err
	})
	return func(name string) (Pin, error) {
		if err := look(); err != nil {
			return nil, fmt.Errorf("pin %s: looking for the board's pins: %w", name, err)
		}
		return find(name, gpioioctl.Chips)
	}
}

// find looks for a line. A name that two chips have, or that another driver of the
// library has taken, stands with its chip's name before it.
func find(name string, chips []*gpioioctl.GPIOChip) (Pin, error) {
	for _, chip := range chips {
		for _, line := range chip.Lines() {
			if line.Name() == name || line.Name() == chip.Name()+"-"+name {
				if user := strings.TrimSpace(line.Consumer()); user != "" {
					return nil, fmt.Errorf("pin %s of %s is in use by %q; choose another, or switch that off", name, chip.Name(), user)
				}
				return line, nil
			}
		}
	}
	if len(chips) == 0 {
		return nil, fmt.Errorf("pin %s: no GPIO chip can be opened; the user needs the right to /dev/gpiochip*: "+
			"sudo usermod -aG gpio nightclamp, with the udev rule 60-nightclamp.rules", name)
	}
	return nil, fmt.Errorf("there is no pin %q; gpioinfo lists the names, such as GPIO17", name)
}
