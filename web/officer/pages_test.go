package officer

import (
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// TestMailSaid: a mail is on its way for a few minutes only, and whatever did not arrive asks an
// officer to look in.
func TestMailSaid(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 11, 26, 17, 41, 0, 0, time.UTC)
	s := Pages{&site.Site{Now: func() time.Time { return at }}}
	for want, m := range map[string]store.OfficerMail{
		"none is sent, so look in here often":                                     {},
		"none was sent yet; a new concern sends one at once":                      {Sends: true},
		"last one today 17:41, on its way":                                        {Sends: true, At: &at},
		"last one today 17:41, not sent yet, and tried again; look in here often": {Sends: true, At: &at, Slow: true},
		"last one today 17:41, arrived at the mail server":                        {Sends: true, At: &at, Outcome: store.LetterSent},
		"last one today 17:41, could not be sent; look in here often":             {Sends: true, At: &at, Outcome: store.LetterLate},
		"last one today 17:41, may not have arrived; look in here often":          {Sends: true, At: &at, Outcome: store.LetterUnknown},
		"last one today 17:41, refused; look in here often":                       {Sends: true, At: &at, Outcome: store.LetterRefused},
		"refused, so no more is sent; give your address again under Your account": {Sends: true, Stopped: true},
	} {
		if got := s.mailSaid(club.Club{}, m); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	coach, officer := view.Page{Who: viewtest.AsCoach}, view.Page{Who: viewtest.AsOfficer}
	second := access()
	second.Clash, second.Now, second.Errors = "Somebody else was first.", "Marten, in the room", view.Errors{"contact": "Please write how to reach them."}
	open := concern()
	closed := concern()
	closed.Closed, closed.Until, closed.Words, closed.Errors = "Closed on 25 November by Per", "19:30", nil, view.Errors{"words": "Please write the note first."}
	return viewtest.Pages{
		"erasures":       erasures().View(),
		"erasures-none":  ErasuresPage{Page: officer, Number: "x", Errors: view.Errors{"number": "Nobody in the club has this number."}}.View(),
		"erasures-owner": ErasuresPage{Page: coach, Owner: true, Outside: "A helpline"}.View(),
		"welfare-first": WelfarePage{Page: coach, Welfare: "Marten", Contact: "In the club room", May: true,
			URL: "https://drover.havnsund.example/join#1.abc"}.View(),
		"welfare-read":   WelfarePage{Page: coach, Welfare: "Marten", Contact: "In the club room"}.View(),
		"welfare-access": access().View(), "welfare-second": second.View(),
		"desk": desk().View(), "desk-empty": DeskPage{Page: officer, Emergency: "Call 000."}.View(),
		"concerns":         ConcernsPage{Page: officer, Open: desk().Concerns, Closed: []ConcernLine{{ID: "1", Title: "Closed on 2 November", Say: "told on 1 November, from a child", Closed: true}}}.View(),
		"concerns-empty":   ConcernsPage{Page: officer}.View(),
		"concern-unopened": ConcernPage{Page: officer, ID: "3", Title: "Told on Tuesday 24 November at 18:12", From: "from a child", Unopened: true}.View(),
		"concern":          open.View(), "concern-closed": closed.View(),
		"officer-games": games().View(), "officer-games-none": GamesPage{Page: officer, Name: "Runa, number 12"}.View(),
		"guardians": guardianList().View(), "guardians-none": GuardiansPage{Page: officer}.View(),
		"bar":         BarPage{Page: officer, ID: "7", Name: "Coach Maren", Last: true, Errors: view.Errors{"reason": "Please write the reason."}}.View(),
		"bar-already": BarPage{Page: officer, ID: "7", Name: "Una", Guardian: true, Already: true}.View(),
		"reads":       reads().View(), "reads-none": ReadsPage{Page: officer, Errors: view.Errors{"day": "Choose a day."}}.View(),
	}
}

func access() AccessPage {
	return AccessPage{WelfarePage: WelfarePage{Page: view.Page{Who: viewtest.AsOfficer}, Welfare: "Marten", Contact: "In the club room", May: true, Officer: true,
		Officers: []Line{{ID: "7", Name: "Solveig", Email: "sol@club.example", Seen: "last here today", Factor: true, You: true},
			{ID: "8", Name: "Marten", Email: "marten@club.example", Seen: "not signed in now"}}},
		Staff: staff(), Guardians: 1, NoOwner: true, Barred: []BarredLine{{ID: "9", Name: "Tomas", Say: "coach, stopped", Reason: "A reason", May: true},
			{ID: "10", Name: "Una", Say: "guardian, stopped", Reason: "Another reason"}}}
}

func staff() []StaffLine {
	return []StaffLine{{ID: "5", Name: "Maren", Role: "coach, owner", Groups: "all groups", Seen: "last here today", May: true},
		{ID: "9", Name: "Tomas", Role: "substitute", Groups: "Tuesday, until 18 December", Seen: "not signed in now", Barred: true},
		{ID: "7", Name: "Solveig", Role: "welfare officer", Groups: "no games without a noted reason", Seen: "last here today", You: true}}
}

func desk() DeskPage {
	return DeskPage{Page: view.Page{Who: viewtest.AsOfficer}, Unopened: 2, Emergency: "Call the emergency number of your country.",
		Outside: "County children's helpline, 000 00 00", Others: "Per", Mail: "last one today 17:41, arrived at the mail server", Staff: staff(), Guardians: 57,
		Concerns: []ConcernLine{{ID: "3", Title: "Unopened", Say: "Tuesday 24 November, 18:12, from a child, by Tell someone", Unopened: true, Main: true},
			{ID: "4", Title: "Unopened", Say: "Monday 23 November, 18:12, from a child, by Tell someone", Unopened: true},
			{ID: "2", Title: "Open since 19 November", Say: "last note yesterday, from a guardian"}},
		Noted: reads().Rows, Erasures: erasures().Rows, Back: 1}
}

func concern() ConcernPage {
	return ConcernPage{Page: view.Page{Who: viewtest.AsOfficer}, ID: "3", Title: "Told on Tuesday 24 November at 18:12", From: "Told by Runa",
		Opened: "Opened on Tuesday 24 November at 19:00 by Solveig", About: "Runa, number 12", Words: []string{"First line", "Second line"},
		Notes: []NoteLine{{By: "Solveig", At: "Tuesday 24 November at 19:05", Words: []string{"Rang home."}}}, Student: "12",
		Errors: view.Errors{"reason": "Please write the reason."}}
}

func games() GamesPage {
	return GamesPage{Page: view.Page{Who: viewtest.AsOfficer}, Name: "Runa, number 12", Until: "19:30", Reason: "To see",
		Rows:  []GameLine{{ID: "40", Title: "Rook, start 2", Day: "today", Result: "clean"}, {Title: "Rook, start 3", Day: "today", Result: "goes on"}},
		Newer: "/welfare/students/12/games?page=1", Older: "/welfare/students/12/games?page=3"}
}

func guardianList() GuardiansPage {
	return GuardiansPage{Page: view.Page{Who: viewtest.AsOfficer}, Rows: []LinkLine{{ID: "20", Name: "Una", Children: "Runa, number 12", Say: "link until 31 December"},
		{ID: "21", Name: "Arne", Children: "Runa, number 12", Say: "barred on 24 November", Barred: true}}}
}

func reads() ReadsPage {
	return ReadsPage{Page: view.Page{Who: viewtest.AsOfficer}, Who: "12", Day: "2026-11-24", Older: "/welfare/reads?page=2",
		Rows: []NotedLine{{At: "today 17:41", Who: "Maren", What: "read the report of number 11"},
			{At: "yesterday 17:22", Who: "Solveig", What: "opened the games of number 12 for an hour", Why: "Reason: to see"}}}
}

func erasures() ErasuresPage {
	return ErasuresPage{Page: view.Page{Who: viewtest.AsOfficer}, Rows: []ErasureLine{
		{ID: "1", Number: "31", Name: "Wren", Asked: "asked for by a guardian, Hedda, 22 November", Confirm: "Confirm: erased on 2 December"},
		{ID: "2", Number: "8", Name: "Runa", Asked: "asked for by Ines, 19 November", Say: "All will be erased on 27 November."}}}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	a, d, c, g, l, r, e := access(), desk(), concern(), games(), guardianList(), reads(), erasures()
	viewtest.CheckEscaped(t, &a, &d, &c, &g, &l, &r, &e, &BarPage{}, &ConcernsPage{Open: desk().Concerns})
}

// TestAddressesAreForOfficers: a coach reads who the officers are, not how they sign in.
func TestAddressesAreForOfficers(t *testing.T) {
	t.Parallel()
	m := access().WelfarePage
	m.Officer = false
	if body := viewtest.Text(viewtest.Parsed(t, m.View())); strings.Contains(body, "@club.example") || !strings.Contains(body, "Solveig") {
		t.Errorf("%s", body)
	}
}

// TestHeadline: how many are unopened, in words.
func TestHeadline(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]string{0: "No concern is unopened.", 1: "One concern is unopened.", 2: "Two concerns are unopened.", 12: "12 concerns are unopened."} {
		if got := (DeskPage{Unopened: n}).headline(); got != want {
			t.Errorf("%d: %s", n, got)
		}
	}
}

// TestDoes: the words of a row name whom it is about, by number where no name is wanted,
// and what it is about.
func TestDoes(t *testing.T) {
	t.Parallel()
	n := store.Noted{Action: "game read", Subject: "Runa", Role: game.Student, Number: 12, Detail: "game 40"}
	gone := store.Noted{Action: "report read"}
	for got, want := range map[string]string{
		does(n, whom(n)): "read a game of Runa, number 12 (game 40)", does(n, bare(n)): "read a game of number 12 (game 40)",
		does(gone, whom(gone)):                                "read the report of somebody who is not kept any more",
		does(store.Noted{Action: "sign-in failed"}, ""):       "tried to sign in, and failed",
		does(store.Noted{Action: "card sent by pigeon"}, "x"): "card sent by pigeon",
		actor(store.Noted{Actor: "Una", ActorRole: game.Guardian}) + bareActor(store.Noted{Actor: "Una", ActorRole: game.Guardian}): "Una, a guardiana guardian",
		actor(store.Noted{}) + bareActor(store.Noted{Actor: "Runa", ActorRole: game.Student}):                                       "somebodya child",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
