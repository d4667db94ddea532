package public

import (
	"slices"
	"testing"

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
	viewtest.CheckEscaped(t, &SignInPage{}, &SetupPage{Errors: view.Errors{"club": "x"}}, &TellPage{}, &CalendarPage{May: true, Own: &FeedLine{}})
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
