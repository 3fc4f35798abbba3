package main

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/session"
)

// serving is a station that serves in this process until the test ends.
type serving struct {
	*station
	address string
	again   chan func() (*config.Config, error)
}

func serveSite(t *testing.T, s *site) *serving {
	t.Helper()
	cfg, err := config.Load(s.config())
	if err != nil {
		t.Fatal(err)
	}
	st, err := openStation(cfg, cfg.StorePath(), zerolog.New(&s.log))
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	v := &serving{st, listener.Addr().String(), make(chan func() (*config.Config, error))}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- newLive(st).run(ctx, listener, v.again) }()
	t.Cleanup(func() {
		stop()
		if err := errors.Join(<-done, st.close()); err != nil {
			t.Error(err)
		}
	})
	return v
}

func TestABackupComesFromTheRunningGateway(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1", `every = "2s"`, `every = "0s"`)
	fill(t, s)
	want := kept(t, s.store())
	v := serveSite(t, s)
	digest := sha256.Sum256([]byte("a-secret-of-the-tests"))
	token := session.Account{
		ID: "token/0123456789ab", Kind: session.DeskToken, Name: "nightly", Role: session.DeskViewer, Scopes: []string{"backup"},
		Secret: hex.EncodeToString(digest[:]), Expires: time.Now().Add(time.Hour),
	}
	if err := demo.Apply(t.Context(), v.store, session.Writes{Accounts: []session.Account{token}}); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(s.dir, "hot.db")
	args := []string{"backup", "--config", s.config(), "--to", to, "--at", "http://" + v.address, "--token", "env:BACKUP_TOKEN"}
	t.Setenv("BACKUP_TOKEN", "threshline-0123456789ab-not-that-secret")
	if code, _, problem := commandLine(t, args...); code != 1 || !strings.Contains(problem, "hint: ") || isThere(to) {
		t.Errorf("with a wrong token: %d %s", code, problem)
	}
	t.Setenv("BACKUP_TOKEN", "threshline-0123456789ab-a-secret-of-the-tests")
	if code, out, problem := commandLine(t, args...); code != 0 || !strings.Contains(out, "verified") {
		t.Fatalf("%d %s", code, problem)
	}
	if got := kept(t, to); !reflect.DeepEqual(got, want) {
		t.Errorf("the backup holds %d checks and %d people", len(got.checks), len(got.people))
	}
	if strings.Contains(s.log.String(), "a-secret-of-the-tests") {
		t.Error("the log holds the token")
	}
}

func TestAReloadTakesANewCertificate(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1", "[listen]", "[listen]\ntls_cert = \"cert.pem\"\ntls_key = \"key.pem\"")
	newCertificate(t, s.dir, 1)
	v := serveSite(t, s)
	reload := func() {
		loaded := make(chan struct{})
		v.again <- func() (*config.Config, error) { defer close(loaded); return config.Load(s.config()) }
		<-loaded
		v.again <- func() (*config.Config, error) { return nil, errors.New("the reload before this one is over") }
	}
	if n := serial(t, v.address); n != 1 {
		t.Errorf("serves certificate %d", n)
	}
	newCertificate(t, s.dir, 2)
	reload()
	if n := serial(t, v.address); n != 2 {
		t.Errorf("after a reload it serves certificate %d", n)
	}
	if err := os.WriteFile(filepath.Join(s.dir, "cert.pem"), []byte("none"), 0o600); err != nil {
		t.Fatal(err)
	}
	reload()
	if n := serial(t, v.address); n != 2 {
		t.Errorf("after a bad file it serves certificate %d", n)
	}
}

func newCertificate(t *testing.T, dir string, serial int64) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(serial), NotAfter: time.Now().Add(time.Hour), DNSNames: []string{"gateway.example"}}
	cert, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{"cert.pem": {Type: "CERTIFICATE", Bytes: cert}, "key.pem": {Type: "PRIVATE KEY", Bytes: private}} {
		if err := os.WriteFile(filepath.Join(dir, name), pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// serial is the number of the certificate that an address serves.
func serial(t *testing.T, address string) int64 {
	t.Helper()
	conn, err := tls.Dial("tcp", address, &tls.Config{InsecureSkipVerify: true}) // made by this test, signed by itself
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	return conn.ConnectionState().PeerCertificates[0].SerialNumber.Int64()
}
