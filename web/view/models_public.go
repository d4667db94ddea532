package view

// SignInPage is GET /in and the answer of a refused POST /in/card.
type SignInPage struct {
	Page
	Number string    // as typed
	Words  [4]string // as typed
	Error  string    // one sentence, empty at first
}

// CoachSignInPage is /in/coach. The password is never given back.
type CoachSignInPage struct {
	Page
	Email string
	Error string
}

// OpenPage is /open, where a card's pattern or a private link arrives. Expired
// draws the sentence for a link or card that no longer works.
//
// In names the person who is signed in in this browser already; then the page
// asks first.
type OpenPage struct {
	Page
	In, Token string
	Expired   bool
}

// SetupPage is /setup, the first run. Token comes back in a refused form; at
// first it is empty and the page's module takes it from behind the #.
type SetupPage struct {
	Page
	Token                               string
	Club, Name, Email, Welfare, Contact string
	Spent                               bool // the link was used or is too old
	Errors                              Errors
}

// ProblemPage is any page that cannot be shown: what is the matter and what to do.
type ProblemPage struct {
	Page
	Status    int
	Say       string // one sentence, also the h1
	Do        string // what to do
	Home      string // where the way on leads, "/" if empty
	HomeLabel string // its words, "Go to the start" if empty
	RequestID string // what to quote to the person who runs the server, may be empty
}

// TellPage is /tell: whom a child can talk to.
type TellPage struct {
	Page
	Welfare string // name of the club's welfare officer
	Contact string // how to reach them
	Back    Link   // the way back, to today if empty
}
