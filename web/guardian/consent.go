package guardian

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
	"drover/web/view"
)

// ConsentBox is what the report says of the consent.
type ConsentBox struct {
	Child string // the number
	Name  string // the nickname
	Title string // "You agreed on 4 September 2026"
	Say   []string
	Asked bool // an answer is asked for: consent was not given yet, was taken back, or is asked for again
	Rests bool // the child does not practise meanwhile
	New   bool // the notice has changed, and this guardian has not read it since
}

// first says whether the report begins with the box.
func (m ConsentBox) first() bool { return m.Asked || m.Rests || m.New }

// tellOfNotice says in the box that the notice has changed, until the guardian reads it.
func (s Pages) tellOfNotice(ctx context.Context, a game.Actor, c club.Club, of club.Consent, box *ConsentBox) error {
	notice, err := s.Store.Notice(ctx, a.Club, club.ForGuardian)
	if err != nil || box.first() || notice.Version <= of.Version || s.Now().Sub(notice.At) > club.AskedFor {
		return err
	}
	read, err := s.Store.HasRead(ctx, a, "consent read", notice.At)
	if err == nil && !read {
		box.New = true
		box.Say = append(box.Say, "The notice of what is kept has changed on "+site.ShortDay(c.Local(notice.At), c.Local(s.Now()))+
			". You need not answer; please read it.")
	}
	return err
}

// ConsentPage is /report/{id}/consent: the notice, and agreeing to it or taking consent back.
type ConsentPage struct {
	view.Page
	ConsentBox
	Notice  view.NoticeOf
	Version int // that the page shows
	MayGive bool
	MayBack bool
}

// boxOf says how the consent to a child's practice stands, to one of its guardians. Of
// another guardian it names nobody.
func boxOf(of club.Consent, reader game.PersonID, child club.Person, now time.Time) ConsentBox {
	box := ConsentBox{Child: strconv.FormatInt(int64(child.ID), 10), Name: child.Name, Rests: !of.Stands}
	_, mine := of.TakenBackBy(reader)
	switch {
	case mine:
		box.Title, box.Asked = "You took your consent back", true
		box.Say = []string{"Practice rests. " + child.Name + " reads only that it does. You can give consent again at any time."}
	case len(of.Back) > 0:
		box.Title = "Consent was taken back"
		box.Say = []string{"A guardian has taken consent back, so practice rests. Only that guardian can give it again, or the welfare officer of the club from paper."}
	case of.Waits():
		box.Title, box.Asked = "Nobody has agreed yet", true
		box.Say = []string{child.Name + " can practise once a guardian has agreed."}
	case of.Guardian == reader:
		box.Title = "You agreed on " + site.ShortDay(of.On, now)
	default:
		box.Title = "A guardian agreed on " + site.ShortDay(of.On, now)
	}
	if of.Waits() || len(of.Back) > 0 {
		return box
	}
	to := "To practice and to what is kept for it"
	if of.Version > 0 {
		to += fmt.Sprintf(": notice %d", of.Version)
	}
	box.Say = append(box.Say, to+".")
	if of.Asked != nil {
		box.Asked = true
		box.Say = append(box.Say, askedAgain(of, now))
	}
	return box
}

// askedAgain says what follows from a notice that asks again.
func askedAgain(of club.Consent, now time.Time) string {
	until := of.Asked.In(now.Location()).Add(club.AskedFor)
	if !of.Stands {
		return "There is a new version of the notice, and nobody has agreed to it yet. Practice rests until then."
	}
	return fmt.Sprintf("There is a new version of the notice. Please read it and say whether you agree. Practice goes on until %s.",
		site.ShortDay(until, now))
}

// Consent is the page with the notice that a guardian agrees to.
func (s Pages) Consent(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, _, err := s.ward(r, a)
	if err != nil {
		return err
	}
	of, err := s.Store.ConsentOf(r.Context(), a.Club, child.ID)
	if err != nil {
		return err
	}
	notice, err := s.Store.Notice(r.Context(), a.Club, club.ForGuardian)
	if err != nil {
		return err
	}
	m := ConsentPage{Page: page, ConsentBox: boxOf(of, a.Person, child, c.Local(s.Now())),
		Notice: site.NoticeOf(notice, c.Local(s.Now())), Version: notice.Version}
	_, mine := of.TakenBackBy(a.Person)
	m.MayBack = !mine && !of.Waits()
	m.MayGive = mine || of.Waits() || of.Asked != nil
	return s.Show(w, r, m.View())
}

type consentForm struct {
	Do      string `schema:"do"` // give, back
	Version int    `schema:"version"`
	site.OnceForm
}

// ConsentPost gives consent or takes it back. What was taken back stops the games that go on.
func (s Pages) ConsentPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, _, err := s.ward(r, a)
	if err != nil {
		return err
	}
	var f consentForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	say := saidAgreed
	switch f.Do {
	case "give":
		err = s.Store.GiveConsent(r.Context(), a, child.ID, f.Version, s.Sent(r))
	case "back":
		say = saidBack
		err = s.Store.WithdrawConsent(r.Context(), a, child.ID, s.Sent(r))
		if err == nil {
			s.StopGames(r.Context(), a.Club, child.ID)
		}
	default:
		err = game.Fail(game.Bad, "Say whether you agree or take your consent back.")
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/report/%d?said=%s", child.ID, say), http.StatusSeeOther)
	return nil
}
