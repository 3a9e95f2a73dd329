package record_test

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// released is the deck of the tests, out of the bag after fifteen hours.
func released(t *testing.T, s *record.Store) record.Run {
	t.Helper()
	run := deck()
	run.Ended, run.Stage = evening().Add(15*time.Hour), press.Release
	must(t, s.PutRun(t.Context(), run))
	return run
}

func TestOutcomesAreKept(t *testing.T) {
	s, path := fresh(t)
	run := released(t, s)
	beside, err := record.OpenBeside(t.Context(), path)
	must(t, err)
	defer func() { must(t, beside.Close()) }()
	no := false
	o := record.NewOutcome(record.AfterDay)
	o.Entered, o.Along.DepthM, o.WeightKg, o.Delaminated, o.Notes = evening(), 0.031, 1.85, &no, "the ü is \"good\""
	o.Photos = []record.Photo{{Name: "deck.jpg", SHA256: "ab", Bytes: 7, Width: 4, Height: 3, Thumb: []byte{1, 2}}}
	must(t, beside.PutOutcome(t.Context(), run.ID, record.NewOutcome(record.AfterWeek), false))
	must(t, beside.PutOutcome(t.Context(), run.ID, record.NewOutcome(record.AfterDay), false))
	must(t, s.PutOutcome(t.Context(), run.ID, o, true))
	list, err := s.Outcomes(t.Context(), run.ID)
	must(t, err)
	if len(list) != 2 || list[0].After != record.AfterDay || list[1].After != record.AfterWeek {
		t.Fatalf("%+v", list)
	}
	got := list[0]
	if !got.Along.DepthM.Known() || got.Along.RadiusM.Known() || *got.Delaminated || got.Notes != o.Notes || !reflect.DeepEqual(got.Photos, o.Photos) {
		t.Errorf("%+v", got)
	}
	if waiting, err := s.Unlogged(t.Context()); err != nil || len(waiting) != 1 || waiting[0].Run != run.ID {
		t.Errorf("%v, %+v", err, waiting)
	}
	must(t, s.Logged(t.Context(), run.ID, errors.New("no such folder")))
	if waiting, err := s.Unlogged(t.Context()); err != nil || waiting[0].Tries != 1 || waiting[0].Error != "no such folder" {
		t.Errorf("%v, %+v", err, waiting)
	}
	must(t, s.Logged(t.Context(), run.ID, nil))
	if waiting, err := s.Unlogged(t.Context()); err != nil || len(waiting) != 0 {
		t.Errorf("%v, %+v", err, waiting)
	}
	if err := s.PutOutcome(t.Context(), "none", o, false); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("of no run: %v", err)
	}
	if err := s.PutOutcome(t.Context(), run.ID, record.NewOutcome("month"), false); err == nil {
		t.Error("a month later is taken")
	}
}

// Each question is open from its time on until it is answered or the next one's
// time has come, and is asked once, also across a restart.
func TestQuestions(t *testing.T) {
	s, path := fresh(t)
	run := released(t, s)
	open1 := func(s *record.Store, later time.Duration) (record.After, bool) {
		t.Helper()
		list, err := s.Questions(t.Context(), run.Ended.Add(later))
		must(t, err)
		if len(list) == 0 {
			return "", false
		}
		return list[0].After, list[0].Asked
	}
	for later, want := range map[time.Duration]record.After{
		-time.Second: "", 0: record.AtRelease, 23 * time.Hour: record.AtRelease, 24 * time.Hour: record.AfterDay,
		6 * 24 * time.Hour: record.AfterDay, 7 * 24 * time.Hour: record.AfterWeek, 36 * 24 * time.Hour: record.AfterWeek, 38 * 24 * time.Hour: "",
	} {
		if got, _ := open1(s, later); got != want {
			t.Errorf("%v after the release the question is %q, want %q", later, got, want)
		}
	}
	list, err := s.Questions(t.Context(), run.Ended.Add(25*time.Hour))
	must(t, err)
	if _, asked, err := s.LastAsked(t.Context(), list); asked || err != nil {
		t.Errorf("nobody was asked, and yet (%v)", err)
	}
	must(t, s.Ask(t.Context(), list[0], run.Ended.Add(25*time.Hour)))
	must(t, s.Close())
	s = open(t, path)
	if got, asked := open1(s, 25*time.Hour); got != record.AfterDay || !asked {
		t.Errorf("after a restart: %q, asked %v", got, asked)
	}
	if got, asked := open1(s, 8*24*time.Hour); got != record.AfterWeek || asked {
		t.Errorf("the week: %q, asked %v", got, asked)
	}
	must(t, s.PutOutcome(t.Context(), run.ID, record.NewOutcome(record.AfterDay), false))
	if got, _ := open1(s, 25*time.Hour); got != "" {
		t.Errorf("answered, and yet %q", got)
	}
}

func TestOpenBesideRefusesOtherForms(t *testing.T) {
	if _, err := record.OpenBeside(t.Context(), t.TempDir()+"/none.db"); err == nil {
		t.Error("there is no record, and yet")
	}
}
