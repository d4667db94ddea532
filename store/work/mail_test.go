package work_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
	"drover/store/work"

	"github.com/emersion/go-smtp"
	"github.com/jackc/pgx/v5"
)

// TestMailIsEncrypted: a mail goes by STARTTLS (RFC 3207) or TLS from the first byte (RFC 8314)
// to a server that shows a certificate we trust, and to no other; nothing goes in the clear.
func TestMailIsEncrypted(t *testing.T) {
	t.Parallel()
	for name, how := range map[string]kind{"STARTTLS": byStartTLS, "from the first byte": implicit} {
		o := opens(t, how)
		if err := o.post.Try(t.Context(), "una@home.example"); err != nil {
			t.Errorf("%s: %v", name, err)
		} else if m, _ := o.next(); m.Header.Get("To") != "<una@home.example>" {
			t.Errorf("%s: %v", name, m.Header)
		}
		strange := o.post
		strange.Roots = nil // whom the system trusts: not this one
		if err := strange.Try(t.Context(), "una@home.example"); err == nil {
			t.Errorf("%s: a mail to a server that nobody vouches for", name)
		}
		o.none()
	}
	o := opens(t, bare)
	if err := o.post.Try(t.Context(), "una@home.example"); err == nil || strings.Contains(o.heard(), "una@") {
		t.Errorf("a server without STARTTLS: %v\n%s", err, o.heard())
	}
	o.post.Bare = true
	if err := o.post.Try(t.Context(), "una@home.example"); err != nil {
		t.Errorf("on this machine: %v", err)
	}
	o.next()
}

// noted is what a crew has logged.
type noted struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write implements [io.Writer].
func (n *noted) Write(b []byte) (int, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.Write(b)
}

func (n *noted) String() string {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.String()
}

// round is a club that sends mail, at a time that the test sets.
type round struct {
	*office
	store *store.Store
	url   string
	f     storetest.Fixture
	log   *noted
	mu    sync.Mutex
	at    time.Time
}

// sunday is a Sunday evening.
var sunday = time.Date(2026, 11, 29, 19, 0, 0, 0, time.UTC)

func (r *round) now() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.at
}

func (r *round) later(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.at = r.at.Add(d)
}

// rounds makes such a club with as many nodes.
func rounds(t *testing.T, name string, nodes int) *round {
	t.Helper()
	r := &round{office: opens(t, byStartTLS), url: storetest.URL(t), log: &noted{}, at: sunday.Add(-time.Hour)}
	s, err := store.Open(t.Context(), r.url, r.now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	s.SendMail()
	r.store, r.f = s, storetest.Club(t, s, name)
	for range nodes {
		r.node()
	}
	return r
}

// node starts a node.
func (r *round) node() *work.Crew {
	r.Helper()
	c, err := work.Start(r.Context(), r.url, r.store, slog.New(slog.NewTextHandler(r.log, nil)), r.post)
	if err != nil {
		r.Fatal(err)
	}
	r.Cleanup(func() {
		short, cancel := context.WithTimeout(context.Background(), 15*time.Second)
		defer cancel()
		_ = c.Stop(short)
	})
	return c
}

var linked = regexp.MustCompile(`https://drover\.club\.example/(\S+)`)

// token is the secret at the end of the first address with a start in a mail.
func token(t *testing.T, body, start string) club.Secret {
	t.Helper()
	for _, m := range linked.FindAllStringSubmatch(body, -1) {
		if tail, ok := strings.CutPrefix(m[1], start); ok {
			return club.Secret(tail)
		}
	}
	t.Fatalf("no %s in %q", start, body)
	return ""
}

// wants makes somebody want the weekly mail at an address, by the mail that asks.
func (r *round) wants(a game.Actor, email string) club.Secret {
	r.Helper()
	if err := r.store.AskAddress(r.Context(), a, email, true); err != nil {
		r.Fatal(err)
	}
	m, body := r.next()
	if got := m.Header.Get("To"); got != "<"+email+">" {
		r.Fatalf("to %s", got)
	}
	key := token(r.T, body, "confirm#")
	if _, err := r.store.ConfirmAddress(r.Context(), key); err != nil {
		r.Fatal(err)
	}
	return key
}

// due puts down what is due, at a time of the test.
func (r *round) due() {
	r.Helper()
	if err := r.store.PutDueLetters(r.Context()); err != nil {
		r.Fatal(err)
	}
}

// ended waits until n mails of a kind have ended in a way.
func (r *round) ended(kind store.LetterKind, how store.Outcome, n int) {
	r.Helper()
	r.until(`select count(*) from letters where kind = $1 and outcome = $2`, n, kind, how)
}

// until waits until a query counts n.
func (r *round) until(q string, n int, with ...any) {
	r.Helper()
	conn, err := pgx.Connect(r.Context(), r.url)
	if err != nil {
		r.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(r.Context()))
	within, cancel := context.WithTimeout(r.Context(), time.Minute)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for got := -1; got != n; <-tick.C {
		if err := conn.QueryRow(within, q, with...).Scan(&got); err != nil {
			r.Fatalf("%s %v counts %d, not %d: %v", q, with, got, n, err)
		}
	}
}

// TestWeeklyMail: who asked and said yes has one mail on Sunday evening, with the headers that
// RFC 3834 and RFC 8058 ask for, and nothing of a child, on however many nodes. No address and
// no token stands in the queue or in a log, and no token in any row.
func TestWeeklyMail(t *testing.T) {
	t.Parallel()
	r := rounds(t, "weekly", 2)
	storetest.Exec(t, r.url, `update people set name = 'cnry-' || id where role in ('student', 'guardian')`)
	if err := r.store.AskAddress(t.Context(), r.f.Guardian2, "other@home.example", true); err != nil {
		t.Fatal(err)
	}
	r.next() // to which nobody says yes
	secrets := []string{string(r.wants(r.f.Guardian, "una@home.example"))}
	r.due()
	r.later(2 * time.Hour)
	for range 3 {
		r.due()
	}
	m, body := r.next()
	r.ended(store.LetterWeekly, store.LetterSent, 1)
	h := m.Header
	stop := string(token(t, body, "unsubscribe/"))
	secrets = append(secrets, stop)
	for name, want := range map[string]string{"Subject": "The weekly report is ready", "To": "<una@home.example>",
		"From": "<drover@club.example>", "Auto-Submitted": "auto-generated", "User-Agent": "", "X-Mailer": "",
		"List-Unsubscribe": "<https://drover.club.example/unsubscribe/" + stop + ">", "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
		"Content-Type": "text/plain; charset=UTF-8"} {
		if h.Get(name) != want {
			t.Errorf("%s is %q, want %q", name, h.Get(name), want)
		}
	}
	if !strings.HasSuffix(h.Get("Message-Id"), "@drover.club.example>") || !strings.Contains(body, "https://drover.club.example/report\n") {
		t.Errorf("%v\n%s", h, body)
	}
	r.none()
	if wire := r.heard(); strings.Contains(wire, "cnry") || strings.Contains(wire, "weekly\"") || !strings.Contains(wire, "una@home.example") {
		t.Errorf("over the line went\n%s", wire)
	}
	r.keepsSilent(append(secrets, "home.example", "cnry"), secrets)
	if err := r.store.StopMail(t.Context(), club.Secret(stop)); err != nil {
		t.Fatal(err)
	}
	if a, err := r.store.Address(t.Context(), r.f.Guardian); err != nil || a.Wanted || a.Outcome != store.LetterSent {
		t.Errorf("%+v, %v", a, err)
	}
	r.later(7 * 24 * time.Hour)
	r.due()
	r.ended(store.LetterWeekly, store.LetterSent, 1)
}

// keepsSilent fails where the queue's rows or the log hold one of never, or any row a secret.
func (r *round) keepsSilent(never, secrets []string) {
	r.Helper()
	conn, err := pgx.Connect(r.Context(), r.url)
	if err != nil {
		r.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(r.Context()))
	text := func(q string) (s string) {
		if err := conn.QueryRow(r.Context(), q).Scan(&s); err != nil {
			r.Fatal(err)
		}
		return s
	}
	queue := text(`select coalesce(string_agg(j::text, ' '), '') from river.river_job j`)
	rows := text(`select string_agg(t, ' ') from (select k::text from keys k union all select l::text from letters l
		union all select a::text from addresses a union all select a::text from audit a) r(t)`)
	if !strings.Contains(queue, "letter") || !strings.Contains(rows, "confirm") {
		r.Error("this looks at nothing")
	}
	for _, s := range never {
		if strings.Contains(queue, s) || strings.Contains(r.log.String(), s) {
			r.Errorf("%q stands in the queue or in the log", s)
		}
	}
	for _, s := range secrets {
		if strings.Contains(rows, s) {
			r.Errorf("%q stands in a row", s)
		}
	}
}

// TestServerPutsOff: a mail that the server puts off (RFC 5321, 4.2.1: 4yz) comes later, once;
// what the server said stands nowhere.
func TestServerPutsOff(t *testing.T) {
	t.Parallel()
	r := rounds(t, "later", 1)
	r.wants(r.f.Guardian, "una@home.example")
	tries := 0
	r.answers(func(to string) error {
		if tries++; tries == 1 {
			return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 7, 1}, Message: "not now, " + to}
		}
		return nil
	}, nil)
	r.later(2 * time.Hour)
	r.due()
	r.next()
	r.ended(store.LetterWeekly, store.LetterSent, 1)
	if !strings.Contains(r.log.String(), "451") {
		t.Errorf("the log does not say that it was put off: %s", r.log)
	}
	r.keepsSilent([]string{"una@", "not now"}, nil)
}

// TestServerRefuses: where a server refuses a mail for good (5yz), at the address or after the
// text, nothing more goes there, until the address is given and confirmed anew.
func TestServerRefuses(t *testing.T) {
	t.Parallel()
	no := &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "nobody here"}
	for name, refuse := range map[string]func(*round){
		"at the address": func(r *round) { r.answers(func(string) error { return no }, nil) },
		"after the text": func(r *round) { r.answers(nil, func(*smtp.Conn) error { return no }) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := rounds(t, "refused", 1)
			r.wants(r.f.Guardian, "una@home.example")
			refuse(r)
			r.later(2 * time.Hour)
			r.due()
			r.ended(store.LetterWeekly, store.LetterRefused, 1)
			if a, err := r.store.Address(t.Context(), r.f.Guardian); err != nil || a.Refused == nil || a.Outcome != store.LetterRefused {
				t.Errorf("%+v, %v", a, err)
			}
			r.answers(nil, nil)
			r.later(7 * 24 * time.Hour)
			r.due()
			r.none()
			r.wants(r.f.Guardian, "una@home.example")
			r.due()
			r.next()
			r.ended(store.LetterWeekly, store.LetterSent, 1)
		})
	}
}

// cut ends a line without an answer.
func cut(c *smtp.Conn) error {
	_ = c.Conn().Close()
	return errors.New("cut")
}

// TestLineIsCutAfterData: the server has every byte, and the line is cut before it answers. The
// weekly mail is not sent again; one that tells an officer is.
func TestLineIsCutAfterData(t *testing.T) {
	t.Parallel()
	r := rounds(t, "cut", 1)
	r.wants(r.f.Guardian, "una@home.example")
	r.answers(nil, cut)
	r.later(2 * time.Hour)
	r.due()
	r.ended(store.LetterWeekly, store.LetterUnknown, 1)
	r.answers(nil, nil)
	r.due()
	r.none()
	sol := r.officer("sol")
	var once sync.Once
	r.answers(nil, func(c *smtp.Conn) (err error) {
		once.Do(func() { err = cut(c) })
		return err
	})
	if err := r.store.Tell(t.Context(), r.f.Student, r.f.Student.Person, "cnry words"); err != nil {
		t.Fatal(err)
	}
	m, body := r.next()
	if m.Header.Get("Subject") != "Something waits for you" || body != "Something waits for you:\n\nhttps://drover.club.example/welfare\n" {
		t.Errorf("%v %q", m.Header, body)
	}
	r.ended(store.LetterConcern, store.LetterSent, 1)
	if got, err := r.store.OfficerMail(t.Context(), sol); err != nil || got.Outcome != store.LetterSent || !got.Sends || got.Stopped {
		t.Errorf("%+v, %v", got, err)
	}
	r.keepsSilent([]string{"cnry", "sol@"}, nil)
}

func (r *round) officer(name string) game.Actor {
	r.Helper()
	link, err := r.store.InviteOfficer(r.Context(), r.f.Coach)
	if err != nil {
		r.Fatal(err)
	}
	a, err := r.store.Join(r.Context(), link, club.NewCoach{Name: name, Email: name + "@club.example", Password: "a long sentence for " + name})
	if err != nil {
		r.Fatal(err)
	}
	return a
}

// TestKilledNodeSendsNothingTwice: a node is killed while it sends a weekly mail, before it or
// after it was taken. Another node ends it as uncertain and sends none; a mail of another
// guardian is sent once by both.
func TestKilledNodeSendsNothingTwice(t *testing.T) {
	t.Parallel()
	r := rounds(t, "killed", 1)
	r.wants(r.f.Guardian, "una@home.example")
	r.wants(r.f.Guardian2, "per@home.example")
	arrived := make(chan struct{})
	held := make(chan struct{})
	r.answers(func(to string) error {
		if strings.HasPrefix(to, "una@") {
			close(arrived)
			<-held
			return io.ErrUnexpectedEOF
		}
		return nil
	}, nil)
	r.later(2 * time.Hour)
	r.due()
	<-arrived // the node is in the middle of it: what it has noted stays, as of one that is killed
	storetest.Exec(t, r.url, `update river.river_job set state = 'available', attempted_by = null where kind = 'letter' and state = 'running'
		and (args->>'letter')::bigint = (select id from letters where kind = 'weekly' and to_id = $1)`, r.f.Guardian.Person)
	r.node()
	r.ended(store.LetterWeekly, store.LetterUnknown, 1)
	close(held)
	if m, _ := r.next(); m.Header.Get("To") != "<per@home.example>" {
		t.Errorf("to %s", m.Header.Get("To"))
	}
	r.ended(store.LetterWeekly, store.LetterSent, 1)
	r.due()
	r.none()
}

// TestNoMailAfterTheLink: a weekly mail that is put down is not sent any more once the link is
// stopped, consent is taken back, the child has left or the guardian is barred; nor is one put
// down.
func TestNoMailAfterTheLink(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(*round) error{
		"link stopped": func(r *round) error {
			return r.store.RevokeGuardian(r.Context(), r.f.Coach, r.f.Student.Person, r.f.Guardian.Person)
		},
		"consent taken back": func(r *round) error { return r.store.WithdrawConsent(r.Context(), r.f.Guardian, r.f.Student.Person) },
		"child left": func(r *round) error {
			_, err := r.store.ArchiveStudent(r.Context(), r.f.Coach, r.f.Student.Person)
			return err
		},
		"barred":     func(r *round) error { return r.store.Bar(r.Context(), r.officer("sol"), r.f.Guardian.Person, "Why") },
		"taken away": func(r *round) error { return r.store.EndAddress(r.Context(), r.f.Guardian) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := rounds(t, "ends", 0)
			if err := r.store.AskAddress(t.Context(), r.f.Guardian, "una@home.example", true); err != nil {
				t.Fatal(err)
			}
			storetest.Exec(t, r.url, `update addresses set confirmed_at = now()`)
			r.later(2 * time.Hour)
			r.due()
			if err := end(r); err != nil {
				t.Fatal(err)
			}
			r.later(7 * 24 * time.Hour)
			r.due()
			r.later(-7 * 24 * time.Hour)
			r.node()
			r.ended(store.LetterWeekly, store.LetterDropped, 1)
			r.none()
		})
	}
}

// TestMondayMail: a coach who asked for it has one mail on Monday morning, which counts what
// needs the coach and names nobody.
func TestMondayMail(t *testing.T) {
	t.Parallel()
	r := rounds(t, "monday", 2)
	storetest.Exec(t, r.url, `update people set name = 'cnry-' || id`)
	if err := r.store.AskReminder(t.Context(), r.f.Coach, true); err != nil {
		t.Fatal(err)
	}
	_, body := r.next()
	if _, err := r.store.ConfirmAddress(t.Context(), token(t, body, "confirm#")); err != nil {
		t.Fatal(err)
	}
	r.later(15 * time.Hour) // nine o'clock on Monday
	needs, err := r.store.SinceLooked(t.Context(), r.f.Coach, nil)
	if err != nil || len(needs.Lines)+needs.Next == 0 {
		t.Fatalf("nothing needs the coach: %v", err)
	}
	r.due()
	r.due()
	m, body := r.next()
	r.ended(store.LetterMonday, store.LetterSent, 1)
	r.none()
	if m.Header.Get("Subject") != "What needs you this week" || m.Header.Get("To") != "<"+r.f.Email+">" ||
		!strings.HasPrefix(body, work.Needs(len(needs.Lines), needs.Next)) || !strings.Contains(body, "/since\n") ||
		m.Header.Get("List-Unsubscribe") == "" {
		t.Errorf("%v %q", m.Header, body)
	}
	if strings.Contains(r.heard(), "cnry") {
		t.Error("it names somebody")
	}
	for _, c := range []struct {
		lines, next int
		want        string
	}{
		{0, 0, "Nothing needs you just now. Your first page:"}, {1, 0, "1 line on your first page:"},
		{0, 2, "2 drills are proposed. Your first page:"}, {3, 1, "3 lines on your first page, and 1 drill proposed:"},
		{0, 1, "1 drill is proposed. Your first page:"},
	} {
		if got := work.Needs(c.lines, c.next); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
