// Command gen writes the Grafana dashboards of nightclamp: press.json, for one
// press, and shop.json, for a shop of many.
//
//	go run ./dashboards/grafana/gen dashboards/grafana
//
// The dashboards are built here, as code, with the Grafana foundation SDK; the
// JSON is what people import and is committed beside. A test holds the two
// together.
package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("want the folder to write to as the only argument, got %q", args)
	}
	files, err := files()
	if err != nil {
		return err
	}
	for name, body := range files {
		if err := os.WriteFile(filepath.Join(args[0], name), body, 0o644); err != nil { //nolint:gosec // for everybody to read
			return fmt.Errorf("write a dashboard: %w", err)
		}
	}
	return nil
}

// files returns the dashboards as they are committed.
func files() (map[string][]byte, error) {
	all := make(map[string][]byte)
	for name, build := range map[string]func() (board, error){
		"press.json": pressDashboard,
		"shop.json":  shopDashboard,
	} {
		d, err := build()
		if err != nil {
			return nil, fmt.Errorf("build %s: %w", name, err)
		}
		body, err := json.MarshalIndent(d, "", "  ")
		if err != nil {
			return nil, fmt.Errorf("encode %s: %w", name, err)
		}
		all[name] = append(body, '\n')
	}
	return all, nil
}
