package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

type consentForm struct {
	By      string `schema:"consent_by"`
	On      string `schema:"consent_on"`
	Mistake string `schema:"mistake"`
	Signed  string `schema:"consent"`
	Version int    `schema:"version"`
	site.OnceForm
}

// read makes the note of a form; a day that cannot be read is refused as no day.
func (f consentForm) read() club.NewStudent {
	on, _ := time.Parse(time.DateOnly, f.On)
	return club.NewStudent{ConsentBy: f.By, ConsentOn: on, Consent: f.Signed != "", Version: f.Version}
}

// Consent is the page on which a consent is noted, corrected or taken back.
func (s Pages) Consent(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.consent(w, r, a, http.StatusOK, ConsentPage{})
}

// consent draws the page; as is what a refused form had.
func (s Pages) consent(w http.ResponseWriter, r *http.Request, a game.Actor, status int, as ConsentPage) error {
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	m, err := s.consentPage(r.Context(), a, c, file)
	if err != nil {
		return err
	}
	m.Page = page
	if as.Errors != nil {
		m.By, m.On, m.Mistake, m.Signed, m.Errors, m.BackErrors = as.By, as.On, as.Mistake, as.Signed, as.Errors, as.BackErrors
	}
	if as.BackErrors != nil {
		m.BackBy, m.BackOn, m.BackErrors = as.BackBy, as.BackOn, as.BackErrors
		for i, g := range m.Guardians {
			m.Guardians[i].Chosen = g.Value == as.BackWho
		}
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// consentPage is what a page says of a student's consent, without its frame.
func (s Pages) consentPage(ctx context.Context, a game.Actor, c club.Club, f store.StudentFile) (ConsentPage, error) {
	of, err := s.Store.ConsentOf(ctx, a.Club, f.ID)
	if err != nil {
		return ConsentPage{}, err
	}
	versions, err := s.Store.NoticeVersions(ctx, a.Club)
	if err != nil {
		return ConsentPage{}, err
	}
	now := c.Local(s.Now())
	m := ConsentPage{ID: strconv.FormatInt(int64(f.ID), 10), Name: f.Name, By: f.ConsentBy, First: f.Waits(),
		Asked: of.Asked != nil && len(of.Back) == 0 && !f.Waits(), Resting: !of.Stands && !f.Waits(), State: restsSay(of, now), Versions: versionChoices(versions, now)}
	if !m.First {
		m.On = f.ConsentOn.Format(time.DateOnly)
	}
	if m.Asked {
		m.By, m.On = "", ""
	}
	for _, g := range f.Guardians {
		m.Guardians = append(m.Guardians, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name})
	}
	if len(m.Guardians) > 0 {
		m.Guardians = append(m.Guardians, view.Choice{Value: "0", Label: "Somebody else, whose name is below"})
	}
	return m, nil
}

// restsSay says why practice rests, or will; empty where it does not.
func restsSay(of club.Consent, now time.Time) string {
	switch {
	case len(of.Back) > 0:
		w := of.Back[0]
		return fmt.Sprintf("Practice rests: %s took consent back on %s. Only that guardian gives it again, on their own page, "+
			"or the welfare officer notes it from paper; a coach cannot.", w.By, site.ShortDay(w.On, now))
	case of.Asked == nil || of.Waits():
		return ""
	case !of.Stands:
		return "Practice rests: guardians were asked again, and nobody has agreed to the new notice yet."
	}
	return fmt.Sprintf("Guardians are asked again. Practice goes on until %s; note the new consent from paper, or let a guardian give it on their own page.",
		site.ShortDay(of.Asked.In(now.Location()).Add(club.AskedFor), now))
}

// versionChoices are the versions that a paper may be about; none where there is only one.
func versionChoices(all []club.Notice, now time.Time) []view.Choice {
	out := []view.Choice{{Value: "0", Label: "The one that was in force on that day", Chosen: true}}
	for _, n := range all {
		if n.For == club.ForGuardian {
			out = append(out, view.Choice{Value: strconv.Itoa(n.Version), Label: game.Upper(n.Label()) + ", of " + site.ShortDay(n.At.In(now.Location()), now)})
		}
	}
	if len(out) == 1 {
		return nil
	}
	return append(out, view.Choice{Value: "-1", Label: "The program's own words"})
}

// ConsentPost notes the consent of a student who waits for it or whose guardians are asked
// again, or corrects one: then the old note stays, with what was wrong.
func (s Pages) ConsentPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f consentForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	file, err := s.Store.StudentFile(r.Context(), a.Club, id)
	if err != nil {
		return err
	}
	said := saidNoted
	if file.Waits() || f.Signed != "" { // a form that comes a second time finds the consent there
		err = s.Store.NoteConsent(r.Context(), a, id, f.read(), s.Sent(r))
	} else {
		said = saidCorrected
		err = s.Store.CorrectConsent(r.Context(), a, id, f.read(), f.Mistake, s.Sent(r))
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.consent(w, r, a, http.StatusUnprocessableEntity,
			ConsentPage{By: f.By, On: f.On, Mistake: f.Mistake, Signed: f.Signed != "", Errors: marked})
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d?said=%s", id, said), http.StatusSeeOther)
	return nil
}

type backForm struct {
	Guardian game.PersonID `schema:"guardian"`
	By       string        `schema:"consent_by"`
	On       string        `schema:"consent_on"`
	site.OnceForm
}

// ConsentBack notes that a guardian has taken consent back: practice rests at once.
func (s Pages) ConsentBack(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f backForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	file, err := s.Store.StudentFile(r.Context(), a.Club, id)
	if err != nil {
		return err
	}
	on, _ := time.Parse(time.DateOnly, f.On) // a day that cannot be read is refused as no day
	n := club.NewStudent{ConsentBy: f.By, ConsentOn: on}
	if g, ok := file.Guardian(f.Guardian); ok {
		n.ConsentBy = g.Name
	} else {
		f.Guardian = 0
	}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	err = club.WithdrawalProblems(&n, c.Local(s.Now())).Err()
	if err == nil {
		err = s.Store.NoteWithdrawal(r.Context(), a, id, f.Guardian, n.ConsentBy, on, s.Sent(r))
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.consent(w, r, a, http.StatusUnprocessableEntity,
			ConsentPage{BackWho: strconv.FormatInt(int64(f.Guardian), 10), BackBy: f.By, BackOn: f.On, BackErrors: marked})
	}
	s.StopGames(r.Context(), a.Club, id)
	http.Redirect(w, r, fmt.Sprintf("/students/%d", id), http.StatusSeeOther)
	return nil
}
