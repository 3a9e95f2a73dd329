package record_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// The test binary is its own victim: with this set it writes until it is killed.
const victimEnv = "NIGHTCLAMP_RECORD_VICTIM"

func TestMain(m *testing.M) {
	if path := os.Getenv(victimEnv); path != "" {
		fmt.Fprintln(os.Stderr, victim(path, os.Getenv(victimEnv+"_FROM")))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// victim feeds samples as fast as it can, commits an event after every few of
// them, and says so once that is acknowledged. The bag pressure of a sample is
// its number, so that the lowest, the highest and the count of a bucket tell
// which samples are in it.
func victim(path, from string) error {
	ctx := context.Background()
	number, err := strconv.Atoi(from)
	if err != nil {
		return err
	}
	s, err := record.Open(ctx, path, record.Options{})
	if err != nil {
		return err
	}
	random := rand.New(rand.NewPCG(uint64(number), 0)) //nolint:gosec // not a secret
	for next := 0; ; number++ {
		if number == next || next == 0 {
			next = number + 1 + random.IntN(300)
			event := press.Event{Time: evening(), Press: "shed", Run: deck().ID, Kind: press.Noted, Text: strconv.Itoa(number)}
			if err := s.AddEvents(ctx, event); err != nil {
				return err
			}
			fmt.Println(number) //nolint:forbidigo // how the victim acknowledges
		}
		sample := sensor.Blank(evening().Add(time.Duration(number) * 100 * time.Millisecond))
		sample.Bag = float64(number)
		if err := s.AddSample(ctx, deck().ID, sample); err != nil {
			return err
		}
	}
}

func TestKilledAtAnyMoment(t *testing.T) {
	path := filepath.Join(t.TempDir(), "nightclamp.db")
	s := open(t, path)
	must(t, s.PutRun(t.Context(), deck()))
	must(t, s.Close())
	random := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 0)) //nolint:gosec // not a secret
	acknowledged := map[string]bool{}
	from := 0
	for life := range lives {
		acks := killOne(t, path, from, random)
		for _, ack := range acks {
			acknowledged[ack] = true
		}
		newest := 0
		if len(acks) > 1 { // the first is acknowledged before any sample
			var err error
			newest, err = strconv.Atoi(acks[len(acks)-1])
			must(t, err)
		}
		from = inspect(t, path, acknowledged, newest) + 1000000
		if t.Failed() {
			t.Fatalf("after being killed %d times", life+1)
		}
	}
	t.Logf("killed %d times, %d events acknowledged", lives, len(acknowledged))
}

// killOne runs a victim and kills it a random moment after a random number of
// acknowledgements, which it returns.
func killOne(t *testing.T, path string, from int, random *rand.Rand) []string {
	t.Helper()
	command := exec.CommandContext(t.Context(), os.Args[0])
	command.Env = append(os.Environ(), victimEnv+"="+path, victimEnv+"_FROM="+strconv.Itoa(from))
	command.Stderr = os.Stderr
	out, err := command.StdoutPipe()
	must(t, err)
	must(t, command.Start())
	var acks []string
	lines := bufio.NewScanner(out)
	enough := 1 + random.IntN(12)
	for lines.Scan() {
		acks = append(acks, lines.Text())
		if len(acks) == enough {
			time.AfterFunc(time.Duration(random.IntN(4000))*time.Microsecond, func() { _ = command.Process.Kill() })
		}
	}
	if err := command.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
		t.Fatalf("the victim ended by itself: %v", err)
	}
	return acks
}

// inspect opens the record as a restarted daemon does, and looks for every
// acknowledged event and for samples counted twice. It returns the number of
// the newest sample.
func inspect(t *testing.T, path string, acknowledged map[string]bool, newest int) int {
	t.Helper()
	s, err := record.Open(t.Context(), path, record.Options{})
	must(t, err)
	defer func() { must(t, s.Close()) }()
	events, err := s.Events(t.Context(), deck().ID)
	must(t, err)
	seen := map[string]int{}
	for _, e := range events {
		seen[e.Text]++
	}
	for ack := range acknowledged {
		if seen[ack] != 1 {
			t.Errorf("event %s is there %d times", ack, seen[ack])
		}
	}
	next := 0.0
	for row, err := range s.Thinned(t.Context(), deck().ID, time.Time{}, time.Time{}, 0) {
		must(t, err)
		if row.Bag.Min < next || int(row.Bag.Max-row.Bag.Min)+1 != row.Count || row.Count > 100 {
			t.Errorf("bucket with samples %v to %v, %d of them, after one that ended before %v", row.Bag.Min, row.Bag.Max, row.Count, next)
		}
		next = row.Bag.Max + 1
	}
	if int(next) < newest { // the commit that acknowledged it took the samples before it along
		t.Errorf("samples end at %v, but event %d was acknowledged after more", next, newest)
	}
	return int(next)
}
