// Package sysfs finds devices in the kernel's file tree and reads numbers from
// their attributes, for the drivers that leave a part to the kernel.
package sysfs

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// Find returns the folder of a device below dir: that of its name, or that
// whose file "name" says it. With no name it returns the only one that fits.
func Find(dir, name string, fits func(folder string) bool) (string, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("%w; is the kernel's driver for the part loaded, and the part in the device tree?", err)
	}
	if err != nil {
		return "", err
	}
	var found, names, seen []string
	for _, e := range entries {
		folder := filepath.Join(dir, e.Name())
		called := readName(folder)
		seen = append(seen, e.Name()+" ("+called+")")
		if (name == "" || name == e.Name() || name == called) && fits(folder) {
			found, names = append(found, folder), append(names, called)
		}
	}
	what := "device"
	if name != "" {
		what = "device " + name
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return "", fmt.Errorf("%d devices below %s fit: set device to one of %s", len(found), dir, strings.Join(offers(found, names), ", "))
	case len(seen) == 0:
		return "", fmt.Errorf("no device below %s: is the kernel's driver for the part loaded, and the part in the device tree?", dir)
	}
	return "", fmt.Errorf("no %s below %s has what is asked for; there are %s", what, dir, strings.Join(seen, ", "))
}

func readName(folder string) string {
	text, err := os.ReadFile(filepath.Join(folder, "name"))
	if err != nil {
		return unnamed
	}
	return strings.TrimSpace(string(text))
}

// unnamed stands for the name of a device that has none.
const unnamed = "no name"

// offers are the devices as device should have them: by name, which survives a
// restart, where no other has it; else by the folder's number, which may not.
func offers(folders, names []string) []string {
	count := map[string]int{}
	for _, n := range names {
		count[n]++
	}
	list := make([]string, len(folders))
	for i, n := range names {
		if list[i] = n; n == unnamed || n == "" || count[n] > 1 {
			list[i] = filepath.Base(folders[i]) + " (" + n + ")"
		}
	}
	return list
}

// Has reports whether a folder has an attribute.
func Has(folder, attribute string) bool {
	_, err := os.Stat(filepath.Join(folder, attribute))
	return err == nil
}

// Number reads an attribute that is one decimal number.
func Number(folder, attribute string) (float64, error) {
	path := filepath.Join(folder, attribute)
	text, err := os.ReadFile(path)
	if err != nil {
		return 0, explain(err)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(string(text)), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%s says %q, which is not a number", path, strings.TrimSpace(string(text[:min(len(text), 40)])))
	}
	return v, nil
}

func explain(err error) error {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w; the user needs the right to read it", err)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%w; was the part or its driver removed?", err)
	}
	return fmt.Errorf("%w; the part does not answer the kernel: check its wiring", err)
}
