package store_test

import (
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"
)

// TestSignsWhatWasRead: a signature is for what its coach has read. What another coach has
// written meanwhile, in the remark, the title or the days, is signed by nobody.
func TestSignsWhatWasRead(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "signs")
	first := time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC)
	read := club.TermReport{Student: f.Student.Person, Title: " Autumn ", From: first, To: first.AddDate(0, 3, 0), Remark: "Kit\r\nplays well. "}
	var err error
	read.ID, err = s.DraftTerm(ctx, f.Coach, read)
	must1(t, err)
	for name, change := range map[string]func(r *club.TermReport){
		"remark": func(r *club.TermReport) { r.Remark = "nobody has read this" }, "title": func(r *club.TermReport) { r.Title = "Winter" },
		"first day": func(r *club.TermReport) { r.From = first.AddDate(0, 0, 1) },
		"last day":  func(r *club.TermReport) { r.To = first.AddDate(0, 0, 1) },
	} {
		other := read
		change(&other)
		must1(t, s.KeepTerm(ctx, f.Coach2, other))
		if err := s.SignTerm(ctx, f.Coach, read, []byte(`{}`)); game.KindOf(err) != game.Conflict {
			t.Errorf("with another %s: %v", name, err)
		}
	}
	if n := scan[int](t, url, `select count(*) from term_reports where signed_at is not null`); n != 0 {
		t.Errorf("%d are signed", n)
	}
	must1(t, s.KeepTerm(ctx, f.Coach, read))
	must1(t, s.SignTerm(ctx, f.Coach, read, []byte(`{}`)))
	if err := s.SignTerm(ctx, f.Coach, read, []byte(`{}`)); game.KindOf(err) != game.Conflict {
		t.Errorf("signed twice: %v", err)
	}
	read.ID++
	if err := s.SignTerm(ctx, f.Coach, read, []byte(`{}`)); game.KindOf(err) != game.Missing {
		t.Errorf("one that is not there: %v", err)
	}
}
