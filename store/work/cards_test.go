package work_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// class adds students who have consent and no card.
func class(t *testing.T, s *store.Store, a game.Actor, n int) (ids []game.PersonID) {
	t.Helper()
	var text strings.Builder
	for i := range n {
		fmt.Fprintf(&text, "Child %d;8;;Guardian;2026-11-03\n", i)
	}
	if _, err := s.AddMany(t.Context(), a, club.Many{Text: text.String(), Signed: true}, nil); err != nil {
		t.Fatal(err)
	}
	r, err := s.Roster(t.Context(), a.Club, store.RosterAsk{NoCard: true})
	if err != nil || len(r.Rows) != n {
		t.Fatalf("%d, %v", len(r.Rows), err)
	}
	for _, row := range r.Rows {
		ids = append(ids, row.ID)
	}
	return ids
}

// whole waits until a sheet is done, and sees only that ever more of it is.
func whole(t *testing.T, s *store.Store, session club.Secret, id game.SheetID) store.Sheet {
	t.Helper()
	within, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for last := 0; ; <-tick.C {
		done, of, err := s.CardProgress(within, session, id)
		if err != nil || done < last {
			t.Fatalf("%d of %d after %d, %v", done, of, last, err)
		}
		if last = done; done == of {
			sheet, err := s.SheetOf(within, session, id)
			if err != nil {
				t.Fatal(err)
			}
			return sheet
		}
	}
}

func session(t *testing.T, s *store.Store, a game.Actor) store.Sent {
	t.Helper()
	token, _, err := s.SignIn(t.Context(), a)
	if err != nil {
		t.Fatal(err)
	}
	return store.Sent{Session: token}
}

// TestCardsAreMadeOnce: two crews make the cards of a sheet, one for each student, and each
// opens the door; another session does not see them.
func TestCardsAreMadeOnce(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "sheet")
	ids := class(t, s, f.Coach, 10)
	in := session(t, s, f.Coach)
	id, err := s.MakeCards(t.Context(), f.Coach, ids, []game.PersonID{f.Student.Person}, in)
	if err != nil {
		t.Fatal(err)
	}
	crew(t, s, url)
	crew(t, s, url)
	sheet := whole(t, s, in.Session, id)
	if sheet.Made != 11 || len(sheet.Cards) != 11 {
		t.Fatalf("%d made, %d shown", sheet.Made, len(sheet.Cards))
	}
	for _, card := range sheet.Cards {
		if a, err := s.Open(t.Context(), card.Token); err != nil || a.Person != card.Student.ID {
			t.Errorf("%s: %v, %v", card.Student.Name, a, err)
		}
	}
	if _, err := s.Open(t.Context(), f.Card.Token); game.KindOf(err) != game.Gone {
		t.Errorf("the old card: %v", err)
	}
	if _, err := s.SheetOf(t.Context(), session(t, s, f.Coach).Session, id); game.KindOf(err) != game.Missing {
		t.Errorf("another session: %v", err)
	}
	storetest.Exec(t, url, `do $$ begin assert (select count(*) = 22 from keys k join sheet_cards c
		on c.student_id = k.person_id where k.kind in ('card', 'phrase')); end $$`)
	secretsNowhere(t, url, sheet.Cards)
}

// secretsNowhere holds that no row of any table has a card's words or token in plain text.
func secretsNowhere(t *testing.T, url string, cards []club.Card) {
	t.Helper()
	db, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close(context.Background())
	rows, err := db.Query(t.Context(), `select quote_ident(table_schema) || '.' || quote_ident(table_name)
		from information_schema.tables where table_schema in ('public', 'river') and table_type = 'BASE TABLE'`)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(tables) < 20 {
		t.Fatal(tables, err)
	}
	for _, table := range tables {
		var all string
		if err := db.QueryRow(t.Context(), "select coalesce(string_agg(encode(convert_to(x::text, 'UTF8'), 'escape'), ' '), '') from "+
			table+" x").Scan(&all); err != nil {
			t.Fatal(err)
		}
		for _, card := range cards {
			for _, secret := range []string{string(card.Token), strings.Join(card.Words[:], " "), strings.Join(card.Words[:], `","`)} {
				if strings.Contains(all, secret) || strings.Contains(all, fmt.Sprintf("%x", secret)) {
					t.Errorf("%s holds a secret of %s", table, card.Student.Name)
				}
			}
		}
	}
}

// TestKilledHalfWayGoesOn: of a sheet that a killed node left half made, the rest is made,
// and what was made stays as it was.
func TestKilledHalfWayGoesOn(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "half")
	ids := class(t, s, f.Coach, 4)
	in := session(t, s, f.Coach)
	id, err := s.MakeCards(t.Context(), f.Coach, ids, nil, in)
	if err != nil {
		t.Fatal(err)
	}
	nothing := func(pgx.Tx) error { return nil }
	for range 2 { // the second time it is done already
		if err := s.MakeSheetCard(t.Context(), f.Coach.Club, id, ids[0], nothing); err != nil {
			t.Fatal(err)
		}
	}
	first, err := s.SheetOf(t.Context(), in.Session, id)
	if err != nil || first.Done != 1 || len(first.Cards) != 1 {
		t.Fatalf("%+v, %v", first, err)
	}
	killed := fmt.Errorf("killed")
	if err := s.MakeSheetCard(t.Context(), f.Coach.Club, id, ids[1], func(pgx.Tx) error { return killed }); err == nil {
		t.Fatal("no error")
	}
	storetest.Exec(t, url, `update river.river_job set state = 'running', attempt = 1, attempted_by = array['killed'],
		attempted_at = now() - interval '20 seconds' where kind = 'card'`)
	crew(t, s, url)
	sheet := whole(t, s, in.Session, id)
	if sheet.Made != 4 || len(sheet.Cards) != 4 || sheet.Cards[0] != first.Cards[0] {
		t.Errorf("%d made, %d shown", sheet.Made, len(sheet.Cards))
	}
}

// TestCardThatIsThereStays: a card that was made meanwhile is not replaced, and a sheet
// whose session is over makes none.
func TestCardThatIsThereStays(t *testing.T) {
	t.Parallel()
	s, url := opened(t)
	f := storetest.Club(t, s, "stays")
	ids := class(t, s, f.Coach, 2)
	in, over := session(t, s, f.Coach), session(t, s, f.Coach)
	id, err := s.MakeCards(t.Context(), f.Coach, ids[:1], nil, in)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.MakeCards(t.Context(), f.Coach, ids[1:], nil, over); err != nil {
		t.Fatal(err)
	}
	card, err := s.ReplaceCard(t.Context(), f.Coach2, ids[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := s.SignOut(t.Context(), over.Session); err != nil {
		t.Fatal(err)
	}
	crew(t, s, url)
	sheet := whole(t, s, in.Session, id)
	if sheet.Made != 0 || fmt.Sprint(sheet.Not) != "[Child 0]" {
		t.Errorf("%+v", sheet)
	}
	if _, err := s.Open(t.Context(), card.Token); err != nil {
		t.Error(err)
	}
	storetest.Exec(t, url, `do $$ begin assert (select count(*) = 0 from sheet_cards c join sheets s on s.id = c.sheet_id
		where s.id <> `+fmt.Sprint(id)+`); end $$`)
}

// TestSheetIsShownForTenMinutes: then no card of it is there any more.
func TestSheetIsShownForTenMinutes(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Now()
	s, err := store.Open(t.Context(), url, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	f := storetest.Club(t, s, "ten")
	ids := class(t, s, f.Coach, 1)
	in := session(t, s, f.Coach)
	id, err := s.MakeCards(t.Context(), f.Coach, ids, nil, in)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.MakeSheetCard(t.Context(), f.Coach.Club, id, ids[0], func(pgx.Tx) error { return nil }); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		after time.Duration
		cards int
	}{{store.ShownFor - time.Second, 1}, {time.Second, 0}} {
		now = now.Add(c.after)
		if sheet, err := s.SheetOf(t.Context(), in.Session, id); err != nil || len(sheet.Cards) != c.cards {
			t.Errorf("%d cards, %v", len(sheet.Cards), err)
		}
	}
	if err := s.Tidy(t.Context()); err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, url, `do $$ begin assert (select count(*) = 0 from shown); end $$`)
}
