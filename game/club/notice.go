package club

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Audience is who reads a notice.
type Audience string

// The audiences of the two notices that a club has.
const (
	ForGuardian Audience = "guardian" // what a guardian agrees to
	ForChild    Audience = "child"    // the same for a child, in simple words
)

// ConsentVersion names the program's own words, which stand where a club has pasted none; it
// changes when they do.
const ConsentVersion = "2026-11"

// Notice is one version of what a club tells guardians, or children, of what it keeps.
type Notice struct {
	For     Audience
	Version int // counted from 1; 0: the program's own words
	Body    string
	Hash    []byte // SHA-256 of the body
	Again   bool   // guardians are asked again; else they are told
	At      time.Time
}

// Label names a version in a sentence.
func (n Notice) Label() string {
	if n.Version == 0 {
		return "version " + ConsentVersion
	}
	return "version " + strconv.Itoa(n.Version)
}

// Mark is the beginning of the hash, by which two papers are told apart.
func (n Notice) Mark() string { return hex.EncodeToString(n.Hash)[:12] }

// NoticeHash is the SHA-256 of a notice's text.
func NoticeHash(body string) []byte {
	h := sha256.Sum256([]byte(body))
	return h[:]
}

// Section is a part of a notice under a heading.
type Section struct {
	Head string // empty: before the first heading
	Text []string
}

// Sections reads a notice: a line that begins with # is a heading, and an empty line ends a
// paragraph.
func (n Notice) Sections() []Section {
	var out []Section
	fresh := true
	for line := range strings.SplitSeq(n.Body, "\n") {
		line = strings.TrimSpace(line)
		head, is := strings.CutPrefix(line, "#")
		switch {
		case is:
			out, fresh = append(out, Section{Head: strings.TrimSpace(strings.TrimLeft(head, "#"))}), true
		case line == "":
			fresh = true
		case len(out) == 0:
			out, fresh = append(out, Section{Text: []string{line}}), false
		default:
			last := &out[len(out)-1]
			if fresh || len(last.Text) == 0 {
				last.Text = append(last.Text, line)
			} else {
				last.Text[len(last.Text)-1] += " " + line
			}
			fresh = false
		}
	}
	return out
}

// NoticeLimit is how many characters a notice may have.
const NoticeLimit = 20_000

// Validate holds a pasted notice against its rules.
func (n *Notice) Validate() error {
	n.Body = strings.TrimSpace(strings.ReplaceAll(n.Body, "\r\n", "\n"))
	p := Problems{}
	switch letters := len([]rune(n.Body)); {
	case n.Body == "":
		p["body"] = "Paste the text of the notice."
	case letters > NoticeLimit:
		p["body"] = fmt.Sprintf("Please keep the notice to %d characters; it has %d.", NoticeLimit, letters)
	case strings.ContainsFunc(n.Body, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' }):
		p["body"] = "There is a sign in this text that cannot be shown. Paste it as plain text."
	}
	if n.For != ForGuardian && n.For != ForChild {
		p["for"] = "Say who reads this notice."
	}
	n.Again = n.Again && n.For == ForGuardian
	n.Hash = NoticeHash(n.Body)
	return p.Err()
}

// OwnNotice is the notice in the program's own words.
func OwnNotice(of Audience) Notice {
	body := guardianNotice
	if of == ForChild {
		body = childNotice
	}
	return Notice{For: of, Body: body, Hash: NoticeHash(body)}
}

const guardianNotice = `# What this is
Your child practises basic chess endings here against a program. A coach of the club sets drills, sees how they went, and may watch a game. The child sees at once when an adult watches.

# What is kept
A nickname, the groups of your child, every move of every game with its time, and what follows from that: which parts are mastered and what to learn next. No birth date, no address, no picture and no e-mail address of the child.

Of you: the name that the coach wrote, when you opened your page, and an e-mail address only if you give one.

# Who sees it
The coaches of the club, your child, and the guardians of your child, each by their own link. The welfare officer sees who read what; games only with a reason that is noted. No other child, no other club, no company: no page of this site asks another site for anything.

# How long
Games and moves for 24 months. What is mastered and when it is checked again, until your child leaves the club or you ask for erasure. Children who have left, for 12 months. The record of who read what, for 24 months. A club may keep less.

# Your rights
You may read everything on your page, take it along as files, and ask for erasure: the welfare officer decides, and seven days are left in which it can be stopped. You may take your consent back at any time: practice then stops at once, and what was kept stays until you ask for erasure. You may complain to the data protection authority of your country.

# Worries
A worry about your child or about an adult goes to the welfare officer of the club, or to the outside contacts on the page 'Tell someone'. In danger, call the emergency number.

# What comes first
The club's safeguarding rules and the law of your country come before this tool and this notice.
`

const childNotice = `# What this is
Here you practise chess. Your coach gives you small tasks.

# What is kept
Your nickname and your games: every move, and how long you thought. Nothing else about you.

# Who can see it
Your coaches, and your grown-ups at home. No other children. When a coach watches your game, you see it at once.

# You can say no
You can stop at any time. A grown-up at home can have everything rubbed out.

# Is something not right?
Press 'Tell someone'. It is on every page. You have done nothing wrong.
`
