package main

import (
	"bufio"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/dashboards/web"
)

// pageAccess says who may see the page. The key that signs its sessions is kept in
// the data folder, so that a restart in the night logs nobody out.
func pageAccess(cfg *config.Config) (web.Access, error) {
	key, err := sessionKey(filepath.Join(cfg.Data, "session.key"))
	if err != nil {
		return web.Access{}, fmt.Errorf("key of the page's sessions: %w; let nightclamp's user read and write the data folder", err)
	}
	access := web.Access{
		Password: cfg.HTTP.Password(), Guest: cfg.HTTP.Guest(), Key: key,
		UserHeader: cfg.HTTP.UserHeader, Proxies: cfg.HTTP.Prefixes(),
	}
	return access, web.CheckAccess(access)
}

const keyBytes = 32

// sessionKey reads the key at path, or makes one.
func sessionKey(path string) ([]byte, error) {
	key, err := os.ReadFile(path) //nolint:gosec // in our own data folder
	if err == nil && len(key) == keyBytes {
		return key, nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	key = make([]byte, keyBytes)
	if _, err := rand.Read(key); err != nil {
		return nil, err
	}
	return key, os.WriteFile(path, key, 0o600)
}

func (a *app) passwordCmd() *cobra.Command {
	return &cobra.Command{
		Use:     "password",
		GroupID: "set",
		Short:   "Make the hash of a password for the page",
		Long: `Password asks for a password (or reads one line of standard input) and prints its
hash, for the file that http.password_file names:

  nightclamp password > /etc/nightclamp/page.hash`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			password, err := a.askPassword()
			if err != nil {
				return err
			}
			hash, err := web.HashPassword(password)
			if err != nil {
				return usageError{err}
			}
			_, err = fmt.Fprintln(a.out, hash)
			return err
		},
	}
}

// askPassword reads a password without showing it where there is a terminal.
func (a *app) askPassword() (string, error) {
	if file, ok := a.in.(*os.File); ok && term.IsTerminal(int(file.Fd())) { //nolint:gosec // a file descriptor is small
		fmt.Fprint(a.err, "Password for the page: ")
		text, err := term.ReadPassword(int(file.Fd())) //nolint:gosec // the same
		fmt.Fprintln(a.err)
		return string(text), err
	}
	line, err := bufio.NewReader(a.in).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	return strings.TrimRight(line, "\r\n"), nil
}
