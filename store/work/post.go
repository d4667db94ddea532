package work

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"net/url"
	"time"

	"drover/store"

	"github.com/wneessen/go-mail"
)

// Post is the server that takes our mail, and what stands in each.
type Post struct {
	Host           string // empty: no mail is sent
	Port           int
	User, Password string
	Implicit       bool           // encrypted from the first byte (RFC 8314, 3.3); else by STARTTLS
	Bare           bool           // not encrypted at all, on this machine alone
	From           string         // the sender's address
	Site           string         // the address that people use
	Roots          *x509.CertPool // who vouches for the server; nil: whom the system trusts
}

// On says whether mail is sent.
func (p Post) On() bool { return p.Host != "" }

// How long a server may take to let us in, and to take a mail. Both together are less than
// rescueAfter, so that no other node begins what this one is at.
const (
	letInWithin = 5 * time.Second
	takenWithin = 5 * time.Second
)

// host is the name of the site, which stands in place of this machine's.
func (p Post) host() string {
	u, err := url.Parse(p.Site)
	if err != nil || u.Hostname() == "" {
		return "localhost"
	}
	return u.Hostname()
}

// hello is how we name ourselves to the server (RFC 5321, 4.1.3).
func (p Post) hello() string {
	switch ip := net.ParseIP(p.host()); {
	case ip == nil:
		return p.host()
	case ip.To4() == nil:
		return "[IPv6:" + ip.String() + "]"
	default:
		return "[" + ip.String() + "]"
	}
}

// client is a way to the server; nothing is sent before it is opened.
func (p Post) client() (*mail.Client, error) {
	with := []mail.Option{
		mail.WithPort(p.Port), mail.WithHELO(p.hello()), mail.WithTimeout(letInWithin), mail.WithoutNoop(),
		mail.WithTLSConfig(&tls.Config{ServerName: p.Host, RootCAs: p.Roots, MinVersion: tls.VersionTLS12}),
	}
	auth := mail.SMTPAuthAutoDiscover
	switch {
	case p.Implicit:
		with = append(with, mail.WithSSL())
	case p.Bare:
		with, auth = append(with, mail.WithTLSPolicy(mail.NoTLS)), mail.SMTPAuthPlainNoEnc
	default:
		with = append(with, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	if p.User != "" {
		with = append(with, mail.WithUsername(p.User), mail.WithPassword(p.Password), mail.WithSMTPAuth(auth))
	}
	c, err := mail.NewClient(p.Host, with...)
	if err != nil {
		return nil, fmt.Errorf("mail: %w", err)
	}
	return c, nil
}

// message makes the mail to an address. It says nothing of the program that sends it, nor of
// this machine.
func (p Post) message(to string, t text) (*mail.Msg, error) {
	m := mail.NewMsg(mail.WithNoDefaultUserAgent(), mail.WithCharset(mail.CharsetUTF8))
	if err := errors.Join(m.From(p.From), m.To(to)); err != nil {
		return nil, errAddress
	}
	m.Subject(t.subject)
	m.SetDate()
	m.SetMessageIDWithValue(rand.Text() + "@" + p.host())
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834
	if t.stop != "" {
		m.SetGenHeader("List-Unsubscribe", "<"+t.stop+">")
		if u, err := url.Parse(t.stop); err == nil && u.Scheme == "https" { // RFC 8058, 3.1
			m.SetGenHeader("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")
		}
	}
	m.SetBodyString(mail.TypeTextPlain, t.body)
	return m, nil
}

// errAddress is a mail that cannot be written to its address.
var errAddress = errors.New("mail: the address cannot be written to")

// code is the number with which the server answered; 0: it did not.
func code(err error) int {
	var said *textproto.Error
	var sent *mail.SendError
	switch {
	case errors.As(err, &sent):
		return sent.ErrorCode()
	case errors.As(err, &said):
		return said.Code
	}
	return 0
}

// outcome reads how a mail ended from what the server answered; empty: it was not taken, and
// can be tried again.
func outcome(err error) store.Outcome {
	var sent *mail.SendError
	switch {
	case err == nil:
		return store.LetterSent
	case errors.Is(err, errAddress):
		return store.LetterRefused
	case !errors.As(err, &sent):
		return ""
	}
	refused := code(err)/100 == 5
	switch sent.Reason {
	case mail.ErrSMTPReset: // what comes after it was taken
		return store.LetterSent
	case mail.ErrSMTPDataClose:
		if code(err) == 0 { // the line was cut after all of it had gone out
			return store.LetterUnknown
		}
	case mail.ErrSMTPRcptTo, mail.ErrSMTPData:
	default:
		refused = false // what is wrong with us is no fault of the address
	}
	if refused {
		return store.LetterRefused
	}
	return ""
}

// Try sends a mail that shows whether the settings are right, and gives the server's own
// words where they are not.
func (p Post) Try(ctx context.Context, to string) error {
	m, err := p.message(to, text{subject: "Mail from Drover works", body: "Drover at " + p.Site + " can send mail.\r\n"})
	if err != nil {
		return err
	}
	c, err := p.client()
	if err != nil {
		return err
	}
	if err := c.DialWithContext(ctx); err != nil {
		return fmt.Errorf("reach the mail server: %w", err)
	}
	defer func() { _ = c.Close() }() // the mail is sent, or not
	if err := c.Send(m); outcome(err) != store.LetterSent {
		return fmt.Errorf("send a mail: %w", err)
	}
	return nil
}
