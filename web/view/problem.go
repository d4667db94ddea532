package view

func (m ProblemPage) way() Link {
	l := Link{m.Home, m.HomeLabel}
	if l.Href == "" {
		l.Href = "/"
	}
	if l.Label == "" {
		l.Label = "Go to the start"
	}
	return l
}

// ProblemPage is any page that cannot be shown: what is the matter and what to do.
type ProblemPage struct {
	Page
	Status    int
	Say       string // one sentence, also the h1
	Do        string // what to do
	Home      string // where the way on leads, "/" if empty
	HomeLabel string // its words, "Go to the start" if empty
	Out       string // the page to come back to as somebody else, after 'Not you?'; empty: that is not offered
	RequestID string // what to quote to the person who runs the server, may be empty
}
