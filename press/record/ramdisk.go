package record

import (
	"bufio"
	"context"
	"database/sql"
	"encoding/gob"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// safeFlush is the longest flush without a ramdisk that works: what a daemon that
// is killed may lose.
const safeFlush = 2 * time.Minute

// ramdisk keeps the full buckets that wait for the next flush, in a file that no
// flash is worn by: they outlive the daemon, not the board.
type ramdisk struct {
	file *os.File
	to   *gob.Encoder
	any  bool // something was kept since it was cleared
}

// waiting is one bucket in that file.
type waiting struct {
	Run string
	Seq int64
	Row Thin
}

// openRamdisk carries over what an earlier daemon left there, and begins anew. A
// ramdisk that cannot be used is no error, but told: the press is watched without it.
func (s *Store) openRamdisk(ctx context.Context) error {
	if s.options.Ramdisk == "" {
		return nil
	}
	path, err := waitingPath(s.options.Ramdisk, s.path)
	if err != nil {
		s.withoutRamdisk("name a file on", err)
		return nil
	}
	rows, err := readRamdisk(path)
	if err != nil {
		s.withoutRamdisk("read", err)
		return nil
	}
	if err := inTx(ctx, s.write, func(tx *sql.Tx) error { return s.carryIn(ctx, tx, rows) }); err != nil {
		return err
	}
	file, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600) //nolint:gosec // the folder is the user's
	if err != nil {
		s.withoutRamdisk("open", err)
		return nil
	}
	s.ramdisk = &ramdisk{file: file, to: gob.NewEncoder(file)}
	return nil
}

// waitingPath is the file of one record: two records whose files are called the
// same may share a ramdisk.
func waitingPath(folder, recordPath string) (string, error) {
	whole, err := filepath.Abs(recordPath)
	if err != nil {
		return "", err
	}
	return filepath.Join(folder, fmt.Sprintf("%s-%08x.waiting", filepath.Base(whole), crc32.ChecksumIEEE([]byte(whole)))), nil
}

// readRamdisk reads what is whole: the last bucket may have been cut short.
func readRamdisk(path string) (rows []waiting, err error) {
	file, err := os.Open(path) //nolint:gosec // the folder is the user's
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	from := gob.NewDecoder(bufio.NewReader(file))
	for {
		var k waiting
		if from.Decode(&k) != nil {
			return rows, nil // the end, or a bucket that was cut short: what came before it holds
		}
		rows = append(rows, k)
	}
}

// carryIn writes the buckets of runs that are still on. One that is there already,
// partly filled, is replaced by the full one.
func (s *Store) carryIn(ctx context.Context, tx querier, rows []waiting) error {
	on := map[string]int64{}
	for _, k := range rows {
		n, known := on[k.Run]
		if !known {
			err := tx.QueryRowContext(ctx, `SELECT n FROM run WHERE id = ? AND ended IS NULL`, k.Run).Scan(&n)
			if err != nil && !errors.Is(err, sql.ErrNoRows) {
				return err
			}
			on[k.Run] = n
		}
		if n == 0 {
			continue
		}
		if err := s.putThin(ctx, tx, n, k.Seq, k.Row); err != nil {
			return fmt.Errorf("samples of run %s that waited: %w", k.Run, err)
		}
	}
	return nil
}

// withoutRamdisk goes on without: samples are written to the disk more often again.
func (s *Store) withoutRamdisk(doing string, err error) {
	if s.ramdisk != nil {
		err = errors.Join(err, s.ramdisk.file.Close())
		s.ramdisk = nil
	}
	s.options.Flush = min(safeFlush, s.options.Flush)
	if s.options.Warn != nil {
		s.options.Warn(fmt.Errorf("%s the ramdisk %s for the samples: %w: they are written to the disk every %v instead; name a folder on a tmpfs that the daemon may write, and restart it",
			doing, s.options.Ramdisk, err, s.options.Flush))
	}
}

// keep puts the bucket that was just filled on the ramdisk. It runs under s.mu.
func (s *Store) keep(run string, r *series) {
	if s.ramdisk == nil {
		return
	}
	s.ramdisk.any = true
	if err := s.ramdisk.to.Encode(waiting{run, r.seq - 1, r.waiting[len(r.waiting)-1]}); err != nil {
		s.withoutRamdisk("write to", err)
	}
}

// carriedOver empties the ramdisk after a flush. It runs under s.mu.
func (s *Store) carriedOver() {
	if s.ramdisk == nil || !s.ramdisk.any {
		return
	}
	err := s.ramdisk.file.Truncate(0)
	if err == nil {
		_, err = s.ramdisk.file.Seek(0, io.SeekStart)
	}
	if err != nil {
		s.withoutRamdisk("empty", err)
		return
	}
	s.ramdisk.to, s.ramdisk.any = gob.NewEncoder(s.ramdisk.file), false
}
