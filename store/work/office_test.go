package work_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"log"
	"math/big"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/store/work"

	"github.com/emersion/go-smtp"
)

// office is a mail server over TCP, by another hand than our client.
type office struct {
	*testing.T
	post work.Post
	came chan *mail.Message // what it has taken, in the order of arrival

	mu     sync.Mutex
	wire   bytes.Buffer             // every byte of every line, decrypted
	rcpt   func(string) error       // how it answers to an address; nil: it takes it
	data   func(*smtp.Conn) error   // and to a mail of which it has every byte
	bodies map[*mail.Message]string // of what came
}

// Write implements [io.Writer].
func (o *office) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.wire.Write(b)
}

// heard is every byte that went over its lines.
func (o *office) heard() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.wire.String()
}

// answers sets how it answers from now on.
func (o *office) answers(rcpt func(string) error, data func(*smtp.Conn) error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.rcpt, o.data = rcpt, data
}

// next waits for a mail, and gives its text.
func (o *office) next() (*mail.Message, string) {
	o.Helper()
	select {
	case m := <-o.came:
		o.mu.Lock()
		defer o.mu.Unlock()
		return m, o.bodies[m]
	case <-time.After(time.Minute):
		o.Fatal("no mail came")
		return nil, ""
	}
}

// none fails where a mail came that nobody has waited for.
func (o *office) none() {
	o.Helper()
	select {
	case m := <-o.came:
		o.Errorf("a mail came: %v", m.Header)
	default:
	}
}

// line is one connection.
type line struct {
	o    *office
	conn *smtp.Conn
}

func (l *line) Reset()                               {}
func (l *line) Logout() error                        { return nil }
func (l *line) Mail(string, *smtp.MailOptions) error { return nil }
func (l *line) Rcpt(to string, _ *smtp.RcptOptions) error {
	l.o.mu.Lock()
	answer := l.o.rcpt
	l.o.mu.Unlock()
	if answer == nil {
		return nil
	}
	return answer(to)
}

func (l *line) Data(r io.Reader) error {
	m, err := mail.ReadMessage(r)
	if err != nil {
		return err
	}
	body, err := io.ReadAll(quotedprintable.NewReader(m.Body))
	if err != nil {
		return err
	}
	l.o.mu.Lock()
	answer := l.o.data
	l.o.bodies[m] = strings.ReplaceAll(string(body), "\r\n", "\n")
	l.o.mu.Unlock()
	if answer != nil {
		if err := answer(l.conn); err != nil {
			return err
		}
	}
	l.o.came <- m
	return nil
}

// kept is a certificate for this machine that its own key signs.
func kept(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	of := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "mail.example"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), DNSNames: []string{"localhost"},
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, of, of, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, pool
}

// kind is how a server encrypts.
type kind int

const (
	byStartTLS kind = iota
	implicit
	bare
)

// opens a mail server until the test ends.
func opens(t *testing.T, how kind) *office {
	t.Helper()
	o := &office{T: t, came: make(chan *mail.Message, 100), bodies: map[*mail.Message]string{}}
	cert, pool := kept(t)
	server := smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) { return &line{o, c}, nil }))
	server.Domain, server.Debug, server.ErrorLog = "mail.example", o, log.New(io.Discard, "", 0)
	var lc net.ListenConfig
	l, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	settings := &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	addr, ok := l.Addr().(*net.TCPAddr)
	if !ok {
		t.Fatal("no TCP")
	}
	switch how {
	case byStartTLS:
		server.TLSConfig = settings
	case implicit:
		l = tls.NewListener(l, settings)
	}
	o.post = work.Post{Host: "127.0.0.1", Port: addr.Port, From: "drover@club.example", Site: "https://drover.club.example",
		Implicit: how == implicit, Roots: pool}
	done := make(chan struct{})
	go func() { defer close(done); _ = server.Serve(l) }()
	t.Cleanup(func() { _ = server.Close(); <-done })
	return o
}
