package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"time"

	"modernc.org/sqlite"
)

// Options say how the record is kept. The zero value is what the daemon uses.
type Options struct {
	// Bucket is how much sample time one kept row stands for; 10 s when zero.
	Bucket time.Duration
	// Flush is how much sample time may pass before full buckets are written;
	// two minutes when zero. It is what a power cut can cost in samples. Each
	// write costs the flash some 20 kB, however little is written.
	Flush time.Duration
	// Ramdisk is a folder, on a tmpfs, in which full buckets wait for the next
	// flush: with it a daemon that is killed loses none, however long Flush is, and
	// the flash is spared. Empty: they wait in memory alone.
	Ramdisk string
	// Warn, if any, is told why the ramdisk is not used.
	Warn func(error)
	// SetAside renames a damaged file, carries over what can be read and goes
	// on with a new one, instead of failing with [ErrCorrupt].
	SetAside bool
}

func (o Options) withDefaults() Options {
	if o.Bucket <= 0 {
		o.Bucket = 10 * time.Second
	}
	if o.Flush <= 0 {
		o.Flush = 2 * time.Minute
	}
	return o
}

// Store is an open record. Its methods may be called from several goroutines.
type Store struct {
	path    string
	options Options
	write   *sql.DB // one connection; nil when opened read-only
	read    *sql.DB
	aside   *Aside
	ramdisk *ramdisk // nil: none

	mu     sync.Mutex // the thinner and the writer
	runs   map[string]int64
	boots  map[string]int64
	series map[string]*series
}

// Open opens the record at path for writing, creates the file if there is none
// (not its folder) and brings it to the present form. A place that cannot be
// written and a damaged file ([ErrCorrupt]) are errors that say what to do.
func Open(ctx context.Context, path string, options Options) (*Store, error) {
	s, err := open(ctx, path, options)
	if err != nil && options.SetAside && errors.Is(err, ErrCorrupt) {
		s, err = openAfresh(ctx, path, options, err)
	}
	if err != nil {
		return nil, err
	}
	if err := s.openRamdisk(ctx); err != nil {
		return nil, explain(path, "take in the samples that waited", errors.Join(err, s.closeAll()))
	}
	return s, nil
}

func open(ctx context.Context, path string, options Options) (_ *Store, err error) {
	if err := checkPlace(path); err != nil {
		return nil, err
	}
	s := newStore(path, options)
	defer func() {
		if err != nil {
			err = explain(path, "open the record", errors.Join(err, s.closeAll()))
		}
	}()
	// One setting for the whole process, the same for every record: fdatasync
	// spares the flash a write of the file's times with every commit. Where the
	// system has none SQLite goes on with fsync.
	_, _ = sqlite.Fdatasync(true)
	if s.write, err = connect(path, writing); err != nil {
		return nil, err
	}
	s.write.SetMaxOpenConns(1)
	if err := check(ctx, s.write); err != nil {
		return nil, contentAtFault(err)
	}
	if err := migrate(ctx, s.write); err != nil {
		return nil, contentAtFault(err)
	}
	if err := checkColumns(ctx, s.write); err != nil {
		return nil, contentAtFault(err)
	}
	if s.read, err = connect(path, readingBeside); err != nil {
		return nil, err
	}
	limitReaders(s.read)
	return s, nil
}

// OpenReadOnly opens an existing record for reading, beside a daemon that may
// be writing to it.
func OpenReadOnly(ctx context.Context, path string) (_ *Store, err error) {
	s := newStore(path, Options{})
	defer func() {
		if err != nil {
			err = explain(path, "open the record", errors.Join(err, s.closeAll()))
		}
	}()
	if err := mustExist(path); err != nil {
		return nil, err
	}
	// Who may not make the files that SQLite wants beside the record can read it
	// beside a daemon, which has made them, or while nobody writes.
	mode := readingOnly
	if !exists(path+"-wal") && tryWriting(filepath.Dir(path)) != nil {
		mode = readingStill
	}
	if s.read, err = connect(path, mode); err != nil {
		return nil, err
	}
	limitReaders(s.read)
	return s, mustBePresent(ctx, s.read)
}

// OpenBeside opens an existing record beside a daemon, to write what came out
// of the bag, or to thin runs that are over: rows that the daemon, which has the
// rest to itself, never has in memory.
func OpenBeside(ctx context.Context, path string) (_ *Store, err error) {
	s := newStore(path, Options{})
	defer func() {
		if err != nil {
			err = explain(path, "open the record", errors.Join(err, s.closeAll()))
		}
	}()
	if err := mustExist(path); err != nil {
		return nil, err
	}
	if s.write, err = connect(path, writing); err != nil {
		return nil, err
	}
	s.write.SetMaxOpenConns(1)
	if err := mustBePresent(ctx, s.write); err != nil {
		return nil, err
	}
	if s.read, err = connect(path, readingBeside); err != nil {
		return nil, err
	}
	limitReaders(s.read)
	return s, nil
}

// mustBePresent refuses a record of another form than this build's.
func mustBePresent(ctx context.Context, db querier) error {
	form, err := formOf(ctx, db)
	if err != nil {
		return err
	}
	want, _, err := version()
	switch {
	case err != nil:
		return err
	case form > want:
		return errNewer
	case form < want:
		return errOlder
	}
	return nil
}

func newStore(path string, options Options) *Store {
	return &Store{
		path: path, options: options.withDefaults(),
		runs: map[string]int64{}, boots: map[string]int64{}, series: map[string]*series{},
	}
}

// limitReaders keeps the memory of a small board: each connection has a cache
// of its own.
func limitReaders(db *sql.DB) {
	db.SetMaxOpenConns(4)
	db.SetMaxIdleConns(1)
}

// The ways to connect. The driver runs pragmas in the order of the alphabet and
// the other keys after them; journal_mode must come after page_size.
//
// Page and log are small for the flash: a page goes into the log with each
// commit that touches it and once into the file, and a log of a quarter of a
// megabyte is soon written over in place instead of growing.
const (
	always = "&_pragma=busy_timeout(5000)&_pragma=foreign_keys(1)&_pragma=cell_size_check(1)" +
		"&_pragma=cache_size(-1024)&_pragma=temp_store(MEMORY)"
	writing = "mode=rw&_journal_mode=WAL&_synchronous=FULL&_txlock=immediate&_pragma=page_size(1024)" +
		"&_pragma=wal_autocheckpoint(256)&_pragma=journal_size_limit(1048576)" + always
	readingBeside = "mode=rw&_query_only=1" + always
	readingStill  = "mode=ro&immutable=1&_query_only=1" + always // nobody writes
	readingOnly   = "mode=ro&_query_only=1" + always
	// writable_schema lets SQLite read a file that was cut short, provided that
	// it comes before anything that looks into the file.
	salvaging = "mode=ro&_query_only=1&_pragma=writable_schema(1)"
)

// connect describes a connection; nothing is opened before its first use.
func connect(path, way string) (*sql.DB, error) {
	file, err := uri(path)
	if err != nil {
		return nil, err
	}
	connector, err := sqlite.NewConnector(file + "?" + way)
	if err != nil {
		return nil, err
	}
	return sql.OpenDB(connector), nil
}

// Path is the file that holds the record.
func (s *Store) Path() string { return s.path }

// Close writes what is still in memory and closes the file.
func (s *Store) Close() error {
	var err error
	if s.write != nil {
		err = s.Flush(context.Background())
	}
	return errors.Join(err, s.closeAll())
}

func (s *Store) closeAll() error {
	var errs []error
	if s.ramdisk != nil {
		errs = append(errs, s.ramdisk.file.Close())
	}
	for _, db := range []*sql.DB{s.read, s.write} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	return errors.Join(errs...)
}

// writable refuses writes to a record that was opened for reading.
func (s *Store) writable() error {
	if s.write == nil {
		return fmt.Errorf("record %s was opened for reading only", s.path)
	}
	return nil
}
