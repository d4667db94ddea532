package public

import (
	"slices"
	"strconv"
	"testing"

	"drover/store"
	"drover/web/view"
	"drover/web/view/viewtest"

	"golang.org/x/net/html"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	return viewtest.Pages{
		"signin": SignInPage{}.View(),
		"signin-wrong": SignInPage{Number: "11", Words: [4]string{"lamp", "otter", "field", "moon"},
			Error: "Number and words do not fit together. Look at the card once more."}.View(),
		"signin-coach":  SignInPage{Email: "maren@havnsund.example", CoachError: "E-mail and password do not fit together."}.View(),
		"signin-lost":   SignInPage{Lost: "You are signed out.", Hidden: onward{Back: "/students", Typed: "name=Wren"}.hidden()}.View(),
		"signin-shared": SignInPage{Shared: true}.View(),
		"open":          OpenPage{}.View(),
		"open-shared":   OpenPage{Shared: true}.View(),
		"expired":       OpenPage{Expired: true}.View(),
		"setup":         SetupPage{Club: "Havnsund chess club", Errors: view.Errors{"password": "This password is 9 characters long. Use at least 15, a short sentence for instance."}}.View(),
		"setup-spent":   SetupPage{Spent: true}.View(),
		"tell": TellPage{Page: view.Page{Who: viewtest.AsStudent}, Welfare: "Oddny",
			Contact: "at the door on club evenings, or 555 0134"}.View(),
		"tell-form":    telling(viewtest.AsStudent, "Tell the welfare officer").View(),
		"tell-two":     telling(viewtest.AsGuardian, "Tell it about Runa", "Tell it about Kit").View(),
		"told":         ToldPage{telling(viewtest.AsStudent)}.View(),
		"told-of":      ToldPage{telling(viewtest.AsGuardian)}.View(),
		"join-another": JoinPage{Name: "Maren", Errors: view.Errors{"another": "Is that you?"}}.View(),
		"setup-self":   SetupPage{Name: "Maren", Welfare: "Maren", Errors: view.Errors{"self": "You name yourself."}}.View(),
		"forgotten":    ForgottenPage{Sends: true, Email: "maren@havnsund.example", Error: "Wait a little."}.View(), "forgotten-asked": ForgottenPage{Sends: true, Asked: true}.View(),
		"forgotten-none": ForgottenPage{}.View(),
		"confirm":        ConfirmPage{Token: "1.none"}.View(), "confirm-done": ConfirmPage{Done: true}.View(), "confirm-spent": ConfirmPage{Spent: true}.View(),
		"stop": StopPage{At: "/unsubscribe/1.none"}.View(), "stop-done": StopPage{Done: true}.View(), "stop-gone": StopPage{Gone: true}.View(),
		"calendar": CalendarPage{Page: view.Page{Who: viewtest.AsCoach}, At: "/account/calendar", May: true, Until: "31 January 2027"}.View(),
		"calendar-made": CalendarPage{Page: view.Page{Who: viewtest.AsGuardian}, At: "/report/calendar", May: true, Until: "31 January 2027",
			Own: &FeedLine{URL: "https://drover.club.example/feed/1.none.ics", Made: "26 November", Until: "31 January 2027",
				Read: "today"}}.View(),
		"calendar-waits": CalendarPage{Page: view.Page{Who: viewtest.AsGuardian}, At: "/report/calendar", Until: "31 January 2027"}.View(),
	}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	viewtest.CheckEscaped(t, &ForgottenPage{Sends: true}, &SignInPage{}, &SetupPage{Errors: view.Errors{"club": "x"}}, &TellPage{Child: true, About: []view.Choice{{}}}, &ToldPage{}, &CalendarPage{May: true, Own: &FeedLine{}})
}

// telling is the page on which something is told, with these buttons.
func telling(who view.Who, buttons ...string) TellPage {
	m := TellPage{Page: view.Page{Who: who}, Welfare: "Oddny", Contact: "at the door", Outside: "The children's line", Emergency: "Call 000.",
		Game: "12", Child: who.Role == view.Student, Reach: store.Reach{Officer: true}}
	for i, b := range buttons {
		m.About = append(m.About, view.Choice{Value: strconv.Itoa(i + 1), Label: b})
	}
	if len(buttons) > 1 {
		m.Errors = view.Errors{"words": "Please keep this shorter."}
	}
	return m
}

func TestSignInKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, SignInPage{Number: "11", Words: [4]string{"lamp", "otter", "field", "moon"},
		Error: "Look once more."}.View())
	want := map[string]string{"number": "11", "w1": "lamp", "w2": "otter", "w3": "field", "w4": "moon"}
	for _, in := range viewtest.Elements(doc, "input") {
		if slices.Contains([]string{"email", "password", "shared"}, viewtest.Attr(in, "name")) {
			continue
		}
		if viewtest.Attr(in, "value") != want[viewtest.Attr(in, "name")] {
			t.Errorf("%s = %q", viewtest.Attr(in, "name"), viewtest.Attr(in, "value"))
		}
		delete(want, viewtest.Attr(in, "name"))
	}
	if len(want) > 0 {
		t.Errorf("no field for %v", want)
	}
	if got := viewtest.Text(viewtest.One(t, doc, "error")); got != "Look once more." {
		t.Errorf("error %q", got)
	}
}

func TestPasswordIsNeverGivenBack(t *testing.T) {
	t.Parallel()
	for _, page := range []*html.Node{
		viewtest.Parsed(t, SignInPage{Email: "maren@havnsund.example"}.View()),
		viewtest.Parsed(t, SetupPage{Club: "Havnsund"}.View()),
	} {
		for _, in := range viewtest.Elements(page, "input") {
			if viewtest.Attr(in, "type") == "password" && viewtest.Attr(in, "value") != "" {
				t.Errorf("value %q", viewtest.Attr(in, "value"))
			}
		}
	}
}

func TestWrongFieldSaysSo(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, SetupPage{Errors: view.Errors{"password": "Use at least 15 characters."}}.View())
	for _, in := range viewtest.Elements(doc, "input") {
		wrong := viewtest.Attr(in, "name") == "password"
		if (viewtest.Attr(in, "aria-invalid") == "true") != wrong {
			t.Errorf("%s: aria-invalid %q", viewtest.Attr(in, "name"), viewtest.Attr(in, "aria-invalid"))
		}
	}
	if got := viewtest.Text(viewtest.One(t, doc, "wrong-say")); got != "Use at least 15 characters." {
		t.Errorf("sentence %q", got)
	}
}
