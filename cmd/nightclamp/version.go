package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// release is set by the build: -ldflags "-X main.release=1.2.3".
var release string //nolint:gochecknoglobals // the linker can set nothing else

// version is the release, or what the Go toolchain knows of the source.
func version() string {
	if release != "" {
		return release
	}
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" || info.Main.Version == "(devel)" {
		return "0.0.0-devel"
	}
	return info.Main.Version
}

func (a *app) versionCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "version",
		GroupID: "set",
		Short:   "Print the version",
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if a.asJSON {
				return a.printJSON(map[string]string{
					"version": version(), "go": runtime.Version(), "os": runtime.GOOS, "arch": runtime.GOARCH,
				})
			}
			_, err := fmt.Fprintf(a.out, "nightclamp %s (%s, %s/%s)\n", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
	a.jsonFlag(c)
	return c
}
