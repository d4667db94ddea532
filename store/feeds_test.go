package store_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// feed makes a feed that works.
func feed(t *testing.T, s *store.Store, a game.Actor) club.Secret {
	t.Helper()
	token, err := s.MakeFeed(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	works(t, s, token, true, "just made")
	return token
}

// works says whether a feed is there; one that is not is missing, as one that never was.
func works(t *testing.T, s *store.Store, token club.Secret, want bool, when string) {
	t.Helper()
	_, err := s.ReadFeed(ctx, token)
	if (err == nil) != want || err != nil && game.KindOf(err) != game.Missing {
		t.Errorf("%s: %v", when, err)
	}
}

// feedEnd is a way in which a feed ends: whose it is, and what is done.
type feedEnd struct {
	owner func(f storetest.Fixture) game.Actor
	do    func(s *store.Store, f storetest.Fixture, owner game.Actor) error
}

var (
	helper   = func(f storetest.Fixture) game.Actor { return f.Coach2 }
	guardian = func(f storetest.Fixture) game.Actor { return f.Guardian }
)

// feedEnds are the ways, those by the database and by the clock aside.
var feedEnds = map[string]feedEnd{
	"its owner ended it": {helper, func(s *store.Store, _ storetest.Fixture, owner game.Actor) error {
		return s.EndFeed(ctx, owner)
	}},
	"its owner made a new one": {guardian, func(s *store.Store, _ storetest.Fixture, owner game.Actor) error {
		return second(s.MakeFeed(ctx, owner))
	}},
	"the coach's access ended": {helper, func(s *store.Store, f storetest.Fixture, owner game.Actor) error {
		return s.EndCoach(ctx, f.Coach, owner.Person, f.Coach.Person)
	}},
	"the coach's password was reset": {helper, func(s *store.Store, f storetest.Fixture, owner game.Actor) error {
		return second(s.ResetCoach(ctx, f.Coach, owner.Person, store.ResetPassword))
	}},
	"the guardian's link was stopped": {guardian, func(s *store.Store, f storetest.Fixture, owner game.Actor) error {
		return s.RevokeGuardian(ctx, f.Coach, f.Student.Person, owner.Person)
	}},
	"the guardian has a new link": {guardian, func(s *store.Store, f storetest.Fixture, owner game.Actor) error {
		return second(s.ReplaceLink(ctx, f.Coach, f.Student.Person, owner.Person))
	}},
	"the child was archived": {guardian, func(s *store.Store, f storetest.Fixture, _ game.Actor) error {
		return second(s.ArchiveStudent(ctx, f.Coach, f.Student.Person))
	}},
}

// TestFeedEnds: a feed is dead at once with its key, its owner and the child's consent,
// and no other feed with it, of the club or of another.
func TestFeedEnds(t *testing.T) {
	t.Parallel()
	for name, sql := range map[string]string{
		"the guardian was archived":       "update people set archived_at = now() where club_id = $1 and id = $2",
		"the guardian guards nobody":      "delete from guardians where club_id = $1 and guardian_id = $2",
		"the child has no consent":        "delete from consents where club_id = $1 and $2 > 0 and student_id = $3",
		"the key is gone":                 "delete from keys where club_id = $1 and person_id = $2 and kind = 'feed'",
		"the key is one of another kind":  "update keys set kind = 'device' where club_id = $1 and person_id = $2 and kind = 'feed'",
		"the owner's role is another one": "update people set role = 'student' where club_id = $1 and id = $2",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, url := open(t)
			feedEndsWith(t, s, guardian, func(f storetest.Fixture, owner game.Actor) error {
				args := []any{f.Coach.Club, owner.Person}
				if name == "the child has no consent" {
					args = append(args, f.Student.Person)
				}
				storetest.Exec(t, url, sql, args...)
				return nil
			})
		})
	}
	for name, c := range feedEnds {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, _ := open(t)
			feedEndsWith(t, s, c.owner, func(f storetest.Fixture, owner game.Actor) error { return c.do(s, f, owner) })
		})
	}
}

// feedEndsWith makes a feed, does something, and looks at it and at others.
func feedEndsWith(t *testing.T, s *store.Store, owner func(storetest.Fixture) game.Actor, do func(storetest.Fixture, game.Actor) error) {
	t.Helper()
	f, elsewhere := storetest.Club(t, s, "here"), storetest.Club(t, s, "there")
	of := owner(f)
	token := feed(t, s, of)
	others := []club.Secret{feed(t, s, f.Coach), feed(t, s, f.Guardian2), feed(t, s, elsewhere.Guardian)}
	if err := do(f, of); err != nil {
		t.Fatal(err)
	}
	works(t, s, token, false, "afterwards")
	for i, other := range others {
		works(t, s, other, true, fmt.Sprint("afterwards, the other ", i))
	}
}

// TestFeedEndsWithTime: a substitute's feed ends with the last day, every feed with the
// term, and then its key goes.
func TestFeedEndsWithTime(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "time")
	began := time.Now()
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	until := began.Add(48 * time.Hour)
	per := joined(t, s, f, "per", &until, group)
	own, theirs := feed(t, s, f.Coach), feed(t, s, per)
	if mine, err := s.Feed(ctx, per); err != nil || !mine.Own.Until.Equal(until.Truncate(time.Microsecond)) || !mine.Ends.Equal(mine.Own.Until) {
		t.Errorf("a substitute's: %+v, %v", mine, err)
	}
	pass(47 * time.Hour)
	works(t, s, theirs, true, "on the last day")
	pass(time.Hour + time.Minute)
	works(t, s, theirs, false, "after the last day")
	works(t, s, own, true, "after the last day of another coach")
	end := club.TermEnd(began.UTC())
	now := began.Add(48*time.Hour + time.Minute)
	pass(end.Add(-time.Minute).Sub(now))
	works(t, s, own, true, "a minute before the end of the term")
	pass(2 * time.Minute)
	works(t, s, own, false, "after the term")
	if mine, err := s.Feed(ctx, f.Coach); err != nil || mine.Own != nil {
		t.Errorf("after the term: %+v, %v", mine, err)
	}
	must1(t, s.Tidy(ctx))
	if n := scan[int](t, url, "select count(*) from keys where kind = 'feed'"); n != 0 {
		t.Errorf("%d dead feeds are kept", n)
	}
}

// TestFeedOfAStoppedLink: a feed that a guardian makes in the instant in which the link is
// stopped ends with it, whichever comes first: the link waits for the feed, and a session
// that has ended makes none.
func TestFeedOfAStoppedLink(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "instant")
	session, token := signedIn(t, s, f.Guardian), feed(t, s, f.Guardian)
	conn, err := pgx.Connect(ctx, url)
	must1(t, err)
	defer conn.Close(ctx)
	making, err := conn.Begin(ctx) // as MakeFeed does
	must1(t, err)
	for _, q := range []string{"select from people where club_id = $1 and id = $2 for no key update",
		"delete from keys where club_id = $1 and person_id = $2 and kind = 'feed'"} {
		must1(t, second(making.Exec(ctx, q, f.Guardian.Club, f.Guardian.Person)))
	}
	var stopping sync.WaitGroup
	stopping.Go(func() {
		if err := s.RevokeGuardian(ctx, f.Coach, f.Student.Person, f.Guardian.Person); err != nil {
			t.Error(err)
		}
	})
	queued(t, making, 1)
	must1(t, second(making.Exec(ctx, `insert into keys (club_id, hash, kind, person_id, made_at, expires_at)
		values ($1, $2, 'feed', $3, now(), now() + interval '1 day')`, f.Guardian.Club, token.Hash(), f.Guardian.Person)))
	must1(t, making.Commit(ctx))
	stopping.Wait()
	works(t, s, token, false, "made while the link was being stopped")
	if _, err := s.MakeFeed(ctx, f.Guardian, store.Sent{Session: session}); game.KindOf(err) != game.Missing {
		t.Errorf("made after the link was stopped: %v", err)
	}
	must1(t, second(s.ReplaceLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person)))
	must1(t, second(s.MakeFeed(ctx, f.Guardian, store.Sent{Session: signedIn(t, s, f.Guardian)})))
}

// TestFeedNeedsSomebody: a guardian none of whose children may practise makes no feed, and
// neither does a student.
func TestFeedNeedsSomebody(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "needs")
	if mine, err := s.Feed(ctx, f.Guardian); err != nil || !mine.May || mine.Own != nil {
		t.Errorf("with consent: %+v, %v", mine, err)
	}
	storetest.Exec(t, url, "delete from consents where student_id = $1", f.Student.Person)
	if mine, err := s.Feed(ctx, f.Guardian); err != nil || mine.May {
		t.Errorf("without consent: %+v, %v", mine, err)
	}
	for who, want := range map[game.Actor]game.Kind{f.Guardian: game.Conflict, f.Student: game.Missing} {
		if _, err := s.MakeFeed(ctx, who); game.KindOf(err) != want {
			t.Errorf("%s makes one: %v", who.Role, err)
		}
	}
	for _, odd := range []club.Secret{"", "1.none", club.NewSecret(f.Coach.Club), f.Link, f.Card.Token} {
		works(t, s, odd, false, "a token that is no feed's")
	}
}

// TestFeedCountsWhatIsDue: the drills of each day from today to the end of the term that the
// owner may see and that somebody has still to do, each once.
func TestFeedCountsWhatIsDue(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "counts")
	today := time.Now().UTC()
	drills := []game.DrillID{f.Drill.ID}
	for range 3 {
		id, err := s.KeepDrill(ctx, f.Coach, f.Drill)
		must1(t, err)
		drills = append(drills, id)
	}
	third, err := s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "No consent", ConsentBy: "G", ConsentOn: today.AddDate(0, 0, -1),
		Consent: true, Wording: 8})
	must1(t, err)
	storetest.Exec(t, url, "delete from consents where student_id = $1", third.Student.ID)
	one, two, none := f.Student.Person, f.Student2.Person, third.Student.ID
	give := func(drill, in int, to ...game.PersonID) game.AssignmentID {
		due := today.AddDate(0, 0, in)
		id, err := s.Assign(ctx, f.Coach, drills[drill], to, &due)
		must1(t, err)
		return id
	}
	left := int(club.TermEnd(today).Sub(today).Hours()/24) + 1 // from today to the first day after the term
	give(0, -1, one)
	give(0, 0, one)
	give(0, 7, one)
	give(0, 7, two) // the same drill
	give(1, 7, two)
	give(2, 7, none)
	give(3, left-1, two)
	give(3, left, two)
	withdrawn, passed, later := give(2, 7, one), give(3, 7, one), give(2, 9, one)
	storetest.Exec(t, url, "update assignments set withdrawn_at = now() where id = $1", withdrawn)
	storetest.Exec(t, url, "update assignees set passed_at = now() where assignment_id = $1", passed)
	storetest.Exec(t, url, "update assignments set opens_at = now() + interval '1 day' where id = $1", later)
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	must1(t, err)
	must1(t, second(s.PutInGroup(ctx, f.Coach, group, []game.PersonID{one, none})))
	until := today.AddDate(0, 0, 7)
	for name, c := range map[string]struct {
		who  game.Actor
		want string
	}{
		"a coach": {f.Coach2, fmt.Sprintf("0: 1, 7: 2, %d: 1, ", left-1)}, "a guardian": {f.Guardian, "0: 1, 7: 1, "},
		"another guardian": {f.Guardian2, fmt.Sprintf("7: 2, %d: 1, ", left-1)},
		"a substitute":     {joined(t, s, f, "sub", &until, group), "0: 1, 7: 1, "},
	} {
		days, err := s.ReadFeed(ctx, feed(t, s, c.who))
		got := ""
		for _, d := range days {
			got += fmt.Sprintf("%d: %d, ", int(d.Day.Sub(today.Truncate(24*time.Hour)).Hours()/24), d.Drills)
		}
		if err != nil || got != c.want {
			t.Errorf("%s reads %s, want %s, %v", name, got, c.want, err)
		}
	}
}

// TestFeedIsNotedOnceADay: one row of the audit for each feed and day, however many
// calendars read it at once, with whose it is; what is made and ended is noted, too.
func TestFeedIsNotedOnceADay(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "noted")
	coach, guardian := feed(t, s, f.Coach), feed(t, s, f.Guardian)
	read := func() {
		t.Helper()
		var all sync.WaitGroup
		for range 5 {
			for _, token := range []club.Secret{coach, guardian} {
				all.Go(func() { works(t, s, token, true, "read") })
			}
		}
		all.Wait()
	}
	const q = `select coalesce(string_agg(n || ' ' || action || ' of ' || coalesce(subject_id, 0), ', ' order by action), '')
		from (select action, subject_id, count(*) as n from audit where actor_id = $1 and action like 'feed%' group by 1, 2) x`
	for day := 1; day <= 3; day++ {
		read()
		for who, subject := range map[game.Actor]game.PersonID{f.Coach: 0, f.Guardian: f.Student.Person} {
			want := fmt.Sprintf("1 feed made of %d, %d feed read of %d", who.Person, day, subject)
			if got := scan[string](t, url, q, who.Person); got != want {
				t.Errorf("day %d, %s: %s, want %s", day, who.Role, got, want)
			}
		}
		pass(24 * time.Hour)
	}
	for range 2 {
		must1(t, s.EndFeed(ctx, f.Coach))
	}
	if n := scan[int](t, url, "select count(*) from audit where action = 'feed ended'"); n != 1 {
		t.Errorf("noted %d times that it ended", n)
	}
	if n := scan[int](t, url, "select count(*) from audit where detail <> '' and action like 'feed%'"); n != 0 {
		t.Errorf("%d rows say more than ids", n)
	}
}

// TestFeedIsShownToItsSession: for ten minutes, and no longer once a new one was made; a form
// that is sent twice makes one.
func TestFeedIsShownToItsSession(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "shown")
	mine, later := signedIn(t, s, f.Coach), signedIn(t, s, f.Coach)
	shown := func(session club.Secret) (token club.Secret) {
		err := s.Shown(ctx, session, store.ShownFeed, int64(f.Coach.Person), &token)
		if err != nil && game.KindOf(err) != game.Missing {
			t.Fatal(err)
		}
		return token
	}
	made, err := s.MakeFeed(ctx, f.Coach, store.Sent{Session: mine, Form: []byte("one")})
	must1(t, err)
	must1(t, second(s.MakeFeed(ctx, f.Coach, store.Sent{Session: mine, Form: []byte("one")})))
	if shown(mine) != made || shown(later) != "" {
		t.Errorf("shown %q and %q", shown(mine), shown(later))
	}
	works(t, s, made, true, "after the form was sent twice")
	kept := scan[string](t, url, "select string_agg(encode(sealed, 'escape'), '') from shown") +
		scan[string](t, url, "select string_agg(encode(hash, 'escape'), '') from keys")
	if len(kept) == 0 || strings.Contains(kept, string(made)) {
		t.Error("the database holds the token")
	}
	must1(t, second(s.MakeFeed(ctx, f.Coach, store.Sent{Session: later})))
	if shown(mine) != "" || shown(later) == "" {
		t.Error("the dead address is shown, or the new one is not")
	}
	pass(store.ShownFor)
	if shown(later) != "" {
		t.Error("shown after ten minutes")
	}
}

// TestTwoFeedsAtOnce: of two that one person makes at the same instant one works.
func TestTwoFeedsAtOnce(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "twice")
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if err := second(s.MakeFeed(ctx, f.Coach)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if n := scan[int](t, url, "select count(*) from keys where kind = 'feed'"); n != 1 {
		t.Errorf("%d feeds", n)
	}
}
