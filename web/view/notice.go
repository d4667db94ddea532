package view

// NoticeOf is a notice as a page shows it.
type NoticeOf struct {
	Parts []NoticePart
	Child bool   // for a child: a picture stands beside each part
	Label string // "Notice version 2, of 3 August."
}

// NoticePart is a part of a notice under a heading.
type NoticePart struct {
	Head    string // empty: before the first heading
	Text    []string
	Picture string // an icon; empty: none
}
