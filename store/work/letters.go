package work

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync/atomic"
	"time"

	"drover/game"
	"drover/store"

	"github.com/riverqueue/river"
)

// roundEvery is how often a node looks whether mails of the week are due.
const roundEvery = 5 * time.Minute

// mailRoundJob asks for the mails of the week that are due.
type mailRoundJob struct{}

// Kind names the job in the queue.
func (mailRoundJob) Kind() string { return "mailround" }

// InsertOpts names the queue, into which only a node that can send looks.
func (mailRoundJob) InsertOpts() river.InsertOpts { return river.InsertOpts{Queue: store.MailQueue} }

type mailRound struct {
	river.WorkerDefaults[mailRoundJob]
	store *store.Store
}

// Work puts down what is due; each mail is put down once on however many nodes.
func (w *mailRound) Work(ctx context.Context, _ *river.Job[mailRoundJob]) error {
	return w.store.PutDueLetters(ctx)
}

// letter sends one mail.
type letter struct {
	river.WorkerDefaults[store.LetterJob]
	store *store.Store
	post  Post
	log   *slog.Logger
	said  atomic.Int64 // when the log last said that mail does not go, Unix seconds
}

// saidEvery is how often the log says that mail does not go.
const saidEvery = 10 * time.Minute

// fails says in the log that mail does not go, now and then, and returns the error.
func (w *letter) fails(err error) error {
	now, last := time.Now().Unix(), w.said.Load()
	if now-last >= int64(saidEvery.Seconds()) && w.said.CompareAndSwap(last, now) {
		w.log.Warn("mail does not go; it is tried again", "err", err)
	}
	return err
}

// Timeout is how long one try may take.
func (w *letter) Timeout(*river.Job[store.LetterJob]) time.Duration {
	return letInWithin + takenWithin + time.Second
}

// mostWait is how long a mail that was put off waits at most: a server that is back after an
// hour has it soon.
const mostWait = 10 * time.Minute

// NextRetry tries again soon, and later the longer it goes on.
func (w *letter) NextRetry(job *river.Job[store.LetterJob]) time.Time {
	return time.Now().Add(letterWait(job.Attempt))
}

// letterWait is how long a mail waits after so many tries.
func letterWait(tries int) time.Duration {
	n := time.Duration(min(tries, 10))
	return min(n*n*n*n*time.Second, mostWait)
}

// Work sends the mail. What goes wrong is said without the server's words, since those name
// the address, and a job's failures stand in the queue's rows and in the log. The mail is
// taken once the server has let us in, so that the time between the last look whether
// somebody is to have it and its sending is short.
func (w *letter) Work(ctx context.Context, job *river.Job[store.LetterJob]) error {
	c, id := job.Args.Club, job.Args.Letter
	if id == 0 {
		return nil
	}
	server, err := w.post.client()
	if err != nil {
		return err
	}
	if err := server.DialWithContext(ctx); err != nil {
		return w.closed(ctx, c, id, err)
	}
	defer func() { _ = server.Close() }() // the mail is sent, or not
	l, err := w.store.TakeLetter(ctx, c, id)
	if err != nil || l == nil {
		return err
	}
	m, err := w.post.message(l.Email, w.post.write(*l))
	if err == nil {
		err = server.Send(m)
	}
	how := outcome(err)
	again := how == "" || how == store.LetterUnknown && l.Kind != store.LetterWeekly && l.Kind != store.LetterMonday
	if !again {
		return w.store.EndLetter(ctx, c, id, *l, how)
	}
	number := code(err)
	if err := w.store.PutOffLetter(ctx, c, id); err != nil {
		return err
	}
	return w.fails(fmt.Errorf("a mail was put off: the server answered %d", number))
}

// closed says that the server did not let us in. A mail that has waited for a day ends.
func (w *letter) closed(ctx context.Context, c game.ClubID, id int64, why error) error {
	if open, err := w.store.EndLate(ctx, c, id); err != nil || !open {
		return err
	}
	if number := code(why); number > 0 {
		return w.fails(fmt.Errorf("the mail server does not let us in: it answered %d", number))
	}
	return w.fails(errors.New("the mail server cannot be reached, or does not encrypt as it should; drover mail-test says more"))
}

// text is what a mail says.
type text struct {
	subject, body string
	stop          string // the way out of the weekly mails; empty: none
}

// write puts a mail into words. It names nobody, and says nothing of a child or of practice.
func (p Post) write(l store.Letter) text {
	t := text{}
	var lines []string
	switch l.Kind {
	case store.LetterConfirm:
		t.subject = "Is this your address?"
		lines = []string{"Somebody asked Drover to send mail to this address. If that was you, open this link within three days and say yes:",
			p.Site + "/confirm#" + string(l.Token), "If it was not you, do nothing: no other mail comes."}
	case store.LetterWeekly:
		t.subject = "The weekly report is ready"
		lines = []string{"The weekly report is ready. You read it here:", p.Site + "/report",
			"If you are not signed in there, open the private link that the coach gave you."}
	case store.LetterMonday:
		t.subject = "What needs you this week"
		lines = []string{needs(l.Needs, l.Next), p.Site + "/since"}
	case store.LetterConcern:
		t.subject = "Something waits for you"
		lines = []string{"Something waits for you:", p.Site + "/welfare"}
	case store.LetterPassword:
		t.subject = "A new password"
		lines = []string{"Somebody asked for a new password for this address. This link lets you choose one. It works once, for an hour:",
			p.Site + "/reset/password#" + string(l.Token),
			"If that was not you, do nothing: your password stays as it is."}
	}
	if l.Kind == store.LetterWeekly || l.Kind == store.LetterMonday {
		t.stop = p.Site + "/unsubscribe/" + string(l.Token)
		lines = append(lines, "You have this mail because you asked for it. To stop it:", t.stop)
	}
	t.body = strings.Join(lines, "\r\n\r\n") + "\r\n"
	return t
}

// needs counts what needs a coach.
func needs(lines, drills int) string {
	switch {
	case lines == 0 && drills == 0:
		return "Nothing needs you just now. Your first page:"
	case lines == 0:
		are := " are"
		if drills == 1 {
			are = " is"
		}
		return game.Count(drills, "drill") + are + " proposed. Your first page:"
	case drills == 0:
		return game.Count(lines, "line") + " on your first page:"
	}
	return fmt.Sprintf("%s on your first page, and %s proposed:", game.Count(lines, "line"), game.Count(drills, "drill"))
}
