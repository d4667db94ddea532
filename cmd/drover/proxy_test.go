package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"io"
	"log"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"sync"
	"testing"
	"time"
)

// certificate is that of the tests' reverse proxy, made once for each run, and
// the digest of its key, by which Chromium is told to trust it.
var certificate = sync.OnceValues(func() (tls.Certificate, string) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		panic(err)
	}
	now := time.Now()
	form := &x509.Certificate{
		SerialNumber: big.NewInt(now.UnixNano()), Subject: pkix.Name{CommonName: "Drover's tests"},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(24 * time.Hour),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, key.Public(), key)
	if err != nil {
		panic(err)
	}
	spki, err := x509.MarshalPKIXPublicKey(key.Public())
	if err != nil {
		panic(err)
	}
	digest := sha256.Sum256(spki)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, base64.StdEncoding.EncodeToString(digest[:])
})

// startProxy is an https reverse proxy in front of an address, set up as a club
// would: it passes the host on, says who asks, and lets sockets through, unless a
// change makes it worse.
func startProxy(t *testing.T, behind string, worse ...func(*http.Request)) (address string) {
	t.Helper()
	target := &url.URL{Scheme: "http", Host: behind}
	proxy := httptest.NewUnstartedServer(&httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(target)
			r.SetXForwarded()
			r.Out.Host = r.In.Host
			for _, change := range worse {
				change(r.Out)
			}
		},
		ErrorLog: log.New(io.Discard, "", 0), // browsers cut lines as they leave a page
	})
	cert, _ := certificate()
	proxy.TLS = &tls.Config{Certificates: []tls.Certificate{cert}}
	proxy.Config.ErrorLog = log.New(io.Discard, "", 0)
	proxy.EnableHTTP2 = true
	proxy.StartTLS()
	t.Cleanup(func() {
		proxy.CloseClientConnections()
		proxy.Close()
	})
	return proxy.URL
}
