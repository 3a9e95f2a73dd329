// Package datasheets holds one TOML file an adhesive family, each number with
// its source, and reads a user's own.
//
// The built-in sheets are careful defaults for a family, not a product: copy
// one, put the numbers of the can in front of you into it, and name its path.
//
// # The file
//
//	name = "uf-two-part"                 # what --glue takes
//	family = "urea-formaldehyde"         # pva, pva-crosslinking, polyurethane-1c, urea-formaldehyde, resorcinol, epoxy
//	title = "Two-part urea-formaldehyde, fast hardener"
//	source = "where each number is from"
//	min_use_c = 10.0                     # glue line, not air
//	max_use_c = 32.0
//	press_time = [ { at_c = 10, hours = [5, 6] }, { at_c = 20, hours = 1.75 } ]
//	strained_factor = 2.0                # bent work, unloaded soon after
//	open_assembly   = [ { at_c = 20, minutes = 5 } ]
//	closed_assembly = [ { at_c = 20, minutes = 10 } ]
//	full_cure       = [ { at_c = 20, hours = 72 } ]
//	activation_kj_per_mol = [50, 70]     # outside the table; the pair is a band
//	below_min = "lost"                   # lost (chalks, dries out) or paused
//	grace_minutes = 15                   # how long, in all, a wet film survives below the minimum
//	stops_short_below_c = 18             # colder than this it stalls short of full cure
//	glass = { fresh_c = -45, full_c = 75, lambda = 0.45 } # where a cold cure stalls
//	spread_g_per_m2 = [200, 400]         # a glue line, in total
//	water_fraction = 0.38
//	moisture_percent = [7, 13]           # what the wood should have
//	gas = false                          # gives off gas while curing
//	cautions = ["…"]
//
// Required are name, min_use_c and press_time. A number may be a pair
// [low, high] where a table or a range stands. An unknown key is an error.
// schema.json describes the file to an editor.
package datasheets

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"

	"github.com/nightclamp/nightclamp/cure"
)

//go:embed sheets/*.toml
var sheets embed.FS

//go:embed schema.json
var schema []byte

// mostBytes is more than any datasheet has.
const mostBytes = 1 << 18

// Schema is the JSON schema (draft 2020-12) of a datasheet file.
func Schema() []byte { return append([]byte(nil), schema...) }

// Names returns the names of the built-in datasheets, sorted.
func Names() []string {
	entries, err := fs.ReadDir(sheets, "sheets")
	if err != nil { // the directory is compiled in
		return nil
	}
	names := make([]string, 0, len(entries))
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".toml"))
	}
	return names
}

// Load returns the built-in datasheet of that name, or else the one in the file
// at that path, with its text. A name without a slash or ".toml" is never
// taken for a path.
func Load(nameOrPath string) (*cure.Sheet, []byte, error) {
	if !strings.ContainsAny(nameOrPath, `/\`) && !strings.HasSuffix(nameOrPath, ".toml") {
		return builtIn(nameOrPath)
	}
	data, err := readFile(nameOrPath)
	if err != nil {
		return nil, nil, err
	}
	s, err := cure.ParseSheet(nameOrPath, data)
	if err != nil {
		return nil, data, fmt.Errorf("datasheet %s: %w", nameOrPath, err)
	}
	return s, data, nil
}

func builtIn(name string) (*cure.Sheet, []byte, error) {
	data, err := sheets.ReadFile(path.Join("sheets", name+".toml"))
	if err != nil {
		return nil, nil, unknown(name)
	}
	s, err := cure.ParseSheet(name+".toml", data)
	if err != nil {
		return nil, data, fmt.Errorf("built-in datasheet %s: %w", name, err)
	}
	return s, data, nil
}

func unknown(name string) error {
	hint := ""
	if near, ok := cure.Nearest(name, Names()); ok {
		hint = fmt.Sprintf("did you mean %q? ", near)
	}
	return fmt.Errorf("no built-in adhesive datasheet is named %q; %sknown are %s; or give the path of your own .toml file",
		name, hint, strings.Join(Names(), ", "))
}

func readFile(name string) ([]byte, error) {
	f, err := os.Open(name) //nolint:gosec // the user names the file
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read datasheet %q: no such file; give a path to a .toml file or one of %s: %w",
			name, strings.Join(Names(), ", "), err)
	}
	if err != nil {
		return nil, fmt.Errorf("read datasheet %q: %w", name, err)
	}
	defer f.Close() //nolint:errcheck // only read
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read datasheet %q: %w", name, err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("read datasheet %q: more than %d bytes; that is no datasheet", name, mostBytes)
	}
	return data, nil
}
