package cli

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

var looks = flag.String("looks", "", "`folder` into which the browser's test puts pictures of every page, to look at")

// browser is a headless browser that is told what to do through two pipes, by
// the protocol that its developer tools use (Chrome DevTools Protocol).
type browser struct {
	t       *testing.T
	to      *os.File
	answers chan message
	session string
	id      int
	seen    []message // events since the last page
}

type message struct {
	ID     int             `json:"id"`
	Method string          `json:"method"`
	Params json.RawMessage `json:"params"`
	Result json.RawMessage `json:"result"`
	Error  json.RawMessage `json:"error"`
}

// startBrowser starts the browser that is installed, or skips the test.
func startBrowser(t *testing.T) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	path := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if p, err := exec.LookPath(name); err == nil && path == "" {
			path = p
		}
	}
	if path == "" {
		t.Skip("no chromium is installed here: how pages look in a browser is not tested")
	}
	fromUs, to, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	from, fromIt, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	args := []string{"--headless", "--remote-debugging-pipe", "--hide-scrollbars", "--disable-gpu", "--no-first-run", "--user-data-dir=" + t.TempDir()}
	if os.Geteuid() == 0 {
		args = append(args, "--no-sandbox") // it starts for root in no other way
	}
	cmd := exec.Command(path, args...)
	cmd.ExtraFiles = []*os.File{fromUs, fromIt}
	cmd.WaitDelay = 5 * time.Second
	if err := cmd.Start(); err != nil {
		t.Skipf("the browser doesn't start, so pages are not tested in it: %v", err)
	}
	fromUs.Close()
	fromIt.Close()
	b := &browser{t: t, to: to, answers: make(chan message, 1000)}
	go b.listen(from)
	if !b.awake() {
		cmd.Process.Kill()
		cmd.Wait()
		t.Skip("the browser that is installed doesn't run here, so pages are not tested in it")
	}
	t.Cleanup(func() {
		b.session = ""
		b.call("Browser.close", nil)
		cmd.Wait()
	})
	return b
}

// awake tells whether the browser answers at all.
func (b *browser) awake() bool {
	if _, err := b.to.WriteString(`{"id":0,"method":"Browser.getVersion"}` + "\x00"); err != nil {
		return false
	}
	select {
	case _, open := <-b.answers:
		return open
	case <-time.After(60 * time.Second):
		return false
	}
}

func (b *browser) listen(from *os.File) {
	defer close(b.answers)
	r := bufio.NewReader(from)
	for {
		line, err := r.ReadBytes(0)
		if err != nil {
			return
		}
		var a message
		if json.Unmarshal(bytes.TrimSuffix(line, []byte{0}), &a) == nil {
			b.answers <- a
		}
	}
}

// next waits for one more message.
func (b *browser) next() message {
	select {
	case a, open := <-b.answers:
		if !open {
			b.t.Fatal("the browser is gone")
		}
		if a.Method != "" {
			b.seen = append(b.seen, a)
		}
		return a
	case <-time.After(60 * time.Second):
		b.t.Fatal("the browser says nothing for a minute")
	}
	return message{}
}

// call has one thing done and returns its result.
func (b *browser) call(method string, params map[string]any) json.RawMessage {
	b.id++
	line, err := json.Marshal(struct {
		ID      int            `json:"id"`
		Session string         `json:"sessionId,omitempty"`
		Method  string         `json:"method"`
		Params  map[string]any `json:"params,omitempty"`
	}{b.id, b.session, method, params})
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.to.Write(append(line, 0)); err != nil {
		b.t.Fatal(err)
	}
	for {
		a := b.next()
		if a.ID == b.id {
			if a.Error != nil {
				b.t.Fatalf("%s: %s", method, a.Error)
			}
			return a.Result
		}
	}
}

func field[T any](t *testing.T, src json.RawMessage, name string) T {
	t.Helper()
	var m map[string]json.RawMessage
	var v T
	if err := json.Unmarshal(src, &m); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(m[name], &v); err != nil {
		t.Fatalf("%s of %s: %v", name, src, err)
	}
	return v
}

// tab opens an empty page and watches it.
func (b *browser) tab() {
	target := field[string](b.t, b.call("Target.createTarget", map[string]any{"url": "about:blank"}), "targetId")
	b.session = field[string](b.t, b.call("Target.attachToTarget", map[string]any{"targetId": target, "flatten": true}), "sessionId")
	for _, domain := range []string{"Page", "Runtime", "Log", "Network"} {
		b.call(domain+".enable", nil)
	}
}

// open shows a file at a width, in a colour scheme.
func (b *browser) open(file string, width int, scheme string) {
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600})
	b.call("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{{"name": "prefers-color-scheme", "value": scheme}}})
	b.seen = nil
	b.call("Page.navigate", map[string]any{"url": "file://" + file})
	for !b.saw("Page.loadEventFired") {
		b.next()
	}
}

func (b *browser) saw(method string) bool {
	for _, a := range b.seen {
		if a.Method == method {
			return true
		}
	}
	return false
}

// number works out an expression in the page.
func (b *browser) number(expression string) float64 {
	result := b.call("Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true})
	return field[float64](b.t, field[json.RawMessage](b.t, result, "result"), "value")
}

// complaints are what the page made the browser say, and what it asked for
// besides itself.
func (b *browser) complaints() []string {
	var list []string
	pages := 0
	for _, a := range b.seen {
		switch a.Method {
		case "Log.entryAdded", "Runtime.consoleAPICalled", "Runtime.exceptionThrown":
			list = append(list, a.Method+": "+string(a.Params))
		case "Network.requestWillBeSent":
			if pages++; pages > 1 {
				list = append(list, "it asks for more: "+string(a.Params))
			}
		}
	}
	return list
}

func (b *browser) save(name string, data string) []byte {
	raw, err := base64.StdEncoding.DecodeString(data)
	if err != nil {
		b.t.Fatal(err)
	}
	if *looks != "" {
		if err := os.WriteFile(filepath.Join(*looks, name), raw, 0o644); err != nil {
			b.t.Fatal(err)
		}
	}
	return raw
}

// picture keeps how the whole page looks, where somebody wants to look at it.
func (b *browser) picture(name string) {
	if *looks == "" {
		return
	}
	shot := b.call("Page.captureScreenshot", map[string]any{"captureBeyondViewport": true, "clip": map[string]any{"x": 0, "y": 0, "scale": 1,
		"width": b.number("document.documentElement.clientWidth"), "height": b.number("document.documentElement.scrollHeight")}})
	b.save(name+".png", field[string](b.t, shot, "data"))
}

// paper prints the page and returns its sheets.
func (b *browser) paper(name string, width, height float64) []byte {
	pdf := b.call("Page.printToPDF", map[string]any{"paperWidth": width, "paperHeight": height, "marginTop": 0.63, "marginBottom": 0.63, "marginLeft": 0.59, "marginRight": 0.59})
	return b.save(name+".pdf", field[string](b.t, pdf, "data"))
}

var pdfPages = regexp.MustCompile(`/Type\s*/Page\b`)

// wide counts the parts of a page that reach beyond its width, those apart that
// can be scrolled by themselves.
const wide = `[...document.querySelectorAll("main *")].filter(e => !e.closest("pre") && e.getClientRects().length &&
	getComputedStyle(e).position != "absolute" && !e.closest("thead") && e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5).length`

// Every kind of report reads in a real browser: on a phone, a tablet and a desk,
// by day and by night, and on both papers. Nothing is wider than the screen,
// nothing is asked for, and the browser has nothing to complain of. To look at
// the pages: go test ./cmd/internal/cli -run InABrowser -looks FOLDER.
func TestReportsInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	dir := t.TempDir()
	for _, name := range reportSheets(t) {
		for _, reader := range []string{forTester, forCustomer} {
			file := filepath.Join(dir, strings.TrimSuffix(filepath.Base(name), ".yaml")+"."+reader+".html")
			if code, _, errs := tried(t, "", "report", name, "--for", reader, "--out", file); code != exitDone {
				t.Fatalf("%s: %s", name, errs)
			}
			b.look(file)
		}
	}
}

// The pages on a change and on pulls read in a real browser as the reports do.
func TestPicturesOfChangesAndPullsInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	dir := t.TempDir()
	sheets := []string{"../../../testdata/sheets/yellow-before.yaml", "../../../testdata/sheets/yellow-after.yaml", "../../../testdata/sheets/yellow-again.yaml"}
	for name, args := range map[string][]string{
		"compared": append([]string{"compare"}, sheets...),
		"pulls":    {"pulls", madeLog, severalPulls(t, 6)},
	} {
		file := filepath.Join(dir, name+".html")
		if code, _, errs := tried(t, "", append(args, "--out", file)...); code != exitDone {
			t.Fatalf("%s: %s", name, errs)
		}
		b.look(file)
	}
}

// printed are the sheets whose reports are printed in every test: paper takes
// its time.
var printed = []string{"group", "little-to-gain", "compared", "pulls"}

func (b *browser) look(file string) {
	base := strings.TrimSuffix(filepath.Base(file), ".html")
	widths, schemes := []int{360}, []string{"dark"}
	first, _, _ := strings.Cut(base, ".")
	all := *looks != "" || slices.Contains(printed, first)
	if all {
		widths, schemes = []int{360, 768, 1280}, []string{"light", "dark"}
	}
	for _, width := range widths {
		for _, scheme := range schemes {
			b.open(file, width, scheme)
			b.fits(base, width)
			for _, c := range b.complaints() {
				b.t.Errorf("%s at %d pixels, %s: %s", base, width, scheme, c)
			}
			b.picture(fmt.Sprintf("%s-%d-%s", base, width, scheme))
		}
	}
	if all {
		b.prints(base)
	}
}

// fits holds that nothing is wider than the screen.
func (b *browser) fits(base string, width int) {
	if got := b.number("document.documentElement.scrollWidth"); got > float64(width) {
		b.t.Errorf("%s at %d pixels is %g wide", base, width, got)
	}
	if n := b.number(wide); n > 0 {
		b.t.Errorf("%s at %d pixels: %g parts reach beyond the screen", base, width, n)
	}
}

// prints holds that a report is no heap of paper: two sheets for a customer, a
// dozen for the tester.
func (b *browser) prints(base string) {
	for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		sheets := len(pdfPages.FindAll(b.paper(base+"-"+name, size[0], size[1]), -1))
		most := 12
		if strings.HasSuffix(base, forCustomer) {
			most = 2
		}
		if sheets < 1 || sheets > most {
			b.t.Errorf("%s on %s has %d sheets, want at most %d", base, name, sheets, most)
		}
		if *looks != "" {
			b.t.Logf("%s on %s: %d sheets", base, name, sheets)
		}
	}
}

// A script in a name, had it become one, would change the page; in a browser
// it is a text like any other.
func TestHostileNamesInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	file := filepath.Join(t.TempDir(), "hostile.html")
	sheet := filepath.Join(t.TempDir(), "hostile.yaml")
	if err := os.WriteFile(sheet, []byte(hostileSheet), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := tried(t, "", "report", sheet, "--out", file); code != exitDone {
		t.Fatal(errs)
	}
	b.open(file, 360, "light")
	for _, c := range b.complaints() {
		t.Error(c)
	}
	for what, expression := range map[string]string{
		"scripts":             `document.querySelectorAll("script").length`,
		"things to load":      `document.querySelectorAll("[src],link,iframe,object,embed,image,use,foreignObject").length`,
		"handlers":            `[...document.querySelectorAll("*")].filter(e => [...e.attributes].some(a => /^on/i.test(a.name))).length`,
		"addresses":           `document.querySelectorAll("a").length`,
		"styles in the body":  `document.querySelectorAll("body style,[style]").length`,
		"names that ran":      `window.ran ? 1 : 0`,
		"width beyond screen": `Math.max(0, document.documentElement.scrollWidth - 360)`,
	} {
		if n := b.number(expression); n != 0 {
			t.Errorf("%s: %g, want none", what, n)
		}
	}
}

// hostileSheet has names that try to be more than names.
const hostileSheet = `sheet: 1
title: "<script>window.ran=1</script>"
car: {name: "</title></style><img src=x onerror=window.ran=1>", engine: {displacement: 1998 cc}}
path:
  - {name: "<img src=x onerror='window.ran=1'>", kind: mouth}
  - {name: "\" onload=\"window.ran=1", kind: duct}
  - {name: "]]></desc><script>window.ran=1</script>", kind: box-entry}
  - {name: "&lt;script&gt;window.ran=1&lt;/script&gt;", kind: filter}
  - {name: "` + "```" + `", kind: box-exit}
  - {name: "[x](javascript:window.ran=1) ![y](http://a.example/b)", kind: meter}
  - {name: "{{.}} http://a.example <http://b.example> &#x1b;[2J", kind: duct}
gauges:
  - {name: "<svg onload=window.ran=1>", range: 25 inH2O}
readings:
  - {run: 1, from: open-air, to: "{{.}} http://a.example <http://b.example> &#x1b;[2J", value: "12.5 inH2O", gauge: "<svg onload=window.ran=1>", note: "<style>*{display:none}</style>"}
  - {run: 2, from: open-air, to: "{{.}} http://a.example <http://b.example> &#x1b;[2J", value: "12-13 inH2O", doubtful: "<a href=javascript:window.ran=1>x</a>"}
`
