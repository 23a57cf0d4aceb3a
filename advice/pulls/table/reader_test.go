package table_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/advice/pulls/table"
	"dropwalk/engine/strictyaml"
)

var nan = math.NaN()

func coded(text string, bigEnd, mark bool) string {
	var b strings.Builder
	if mark {
		text = "\ufeff" + text
	}
	for _, u := range utf16.Encode([]rune(text)) {
		low, high := byte(u), byte(u>>8)
		if bigEnd {
			low, high = high, low
		}
		b.WriteByte(low)
		b.WriteByte(high)
	}
	return b.String()
}

func readAll(t *testing.T, text string) (*table.Reader, [][]float64) {
	t.Helper()
	r, err := table.Open("log.csv", strings.NewReader(text))
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	var rows [][]float64
	for row := r.Next(); row != nil; row = r.Next() {
		rows = append(rows, append([]float64(nil), row...))
	}
	if err := r.Err(); err != nil {
		t.Fatal(err)
	}
	return r, rows
}

// Every form says the same: engine speed and intake pressure at three times.
func TestFormsOfOneLog(t *testing.T) {
	names := []string{"Time", "Engine speed", "Pressure"}
	units := []string{"s", "rpm", "kPa"}
	want := [][]float64{{0, 800, 0.1}, {0.5, 900.5, -1.25}, {1, 1000, 12.5}}
	plain := "Time [s],Engine speed [rpm],Pressure [kPa]\n0.0,800,0.1\n0.5,900.5,-1.25\n1.0,1000,12.5\n"
	decimalComma := "Time [s];Engine speed [rpm];Pressure [kPa]\n0,0;800;0,1\n0,5;900,5;-1,25\n1,0;1000;12,5\n"
	for _, c := range []struct{ name, text string }{
		{"comma", plain},
		{"semicolon", strings.ReplaceAll(plain, ",", ";")},
		{"tab", strings.ReplaceAll(plain, ",", "\t")},
		{"bar", strings.ReplaceAll(plain, ",", "|")},
		{"decimal comma behind semicolons", decimalComma},
		{"decimal comma behind tabs", strings.ReplaceAll(decimalComma, ";", "\t")},
		{"decimal comma in quotes", "Time [s],Engine speed [rpm],Pressure [kPa]\n\"0,0\",800,\"0,1\"\n\"0,5\",\"900,5\",\"-1,25\"\n\"1,0\",1000,\"12,5\"\n"},
		{"lines end as on Windows", strings.ReplaceAll(plain, "\n", "\r\n")},
		{"no end of the last line", strings.TrimSuffix(plain, "\n")},
		{"UTF-8 with a mark", "\ufeff" + plain},
		{"UTF-16, little end first", coded(plain, false, true)},
		{"UTF-16, big end first", coded(plain, true, true)},
		{"UTF-16 without a mark", coded(plain, false, false)},
		{"UTF-16 with decimal commas", coded(decimalComma, true, true)},
		{"comma behind each row", strings.ReplaceAll(plain, "\n", ",\n")},
		{"empty columns behind the table", strings.ReplaceAll(plain, "\n", ",,,\n")},
		{"comments and blank lines", "# a recorder\n\n// made up\n" + strings.Replace(plain, "0.5,", "# a gear change\n\n0.5,", 1)},
		{"notes ahead of the head", "Recorder;made up\nDate;2026-11-25\n\n" + decimalComma},
		{"every cell in quotes", `"Time [s]","Engine speed [rpm]","Pressure [kPa]"` + "\n" + `"0.0","800","0.1"` + "\n" + `"0.5","900.5","-1.25"` + "\n" + `"1.0","1000","12.5"` + "\n"},
		{"units in round brackets", "Time (s),Engine speed (rpm),Pressure (kPa)" + plain[strings.Index(plain, "\n"):]},
		{"units in a row of their own", "Time,Engine speed,Pressure\ns,rpm,kPa" + plain[strings.Index(plain, "\n"):]},
		{"units in a row and in brackets", "Time,Engine speed,Pressure\n[s],[rpm],[kPa]" + plain[strings.Index(plain, "\n"):]},
		{"blanks behind commas", strings.ReplaceAll(plain, ",", ", ")},
		{"the delimiter told first", "sep=;\n" + decimalComma},
		{"exponents", strings.Replace(plain, "12.5", "1.25E+01", 1)},
	} {
		r, rows := readAll(t, c.text)
		var gotNames, gotUnits []string
		for _, col := range r.Columns() {
			if !strings.HasPrefix(col.Name, "column ") {
				gotNames, gotUnits = append(gotNames, col.Name), append(gotUnits, col.Unit)
			}
		}
		if d := cmp.Diff(names, gotNames) + cmp.Diff(units, gotUnits); d != "" {
			t.Errorf("%s: head:\n%s", c.name, d)
		}
		for i := range rows {
			rows[i] = rows[i][:3]
		}
		if d := cmp.Diff(want, rows); d != "" {
			t.Errorf("%s: rows:\n%s", c.name, d)
		}
		if f := r.Faults(); len(f) > 0 {
			t.Errorf("%s: %v", c.name, f)
		}
	}
}

func TestTimesOfDay(t *testing.T) {
	const start = 17*3600 + 58*60
	for _, c := range []struct {
		cells string
		want  []float64
	}{
		{"17:58:02.288|17:58:02.5", []float64{start + 2.288, start + 2.5}},
		{"17:58:02,288|17:58:02,5", []float64{start + 2.288, start + 2.5}},
		{"17:58:02|17:58:03", []float64{start + 2, start + 3}},
		{"5:58:02 PM|5:58:03 PM", []float64{start + 2, start + 3}},
		{"58:02.5|58:03.5", []float64{58*60 + 2.5, 58*60 + 3.5}},
		{"2026-11-25 17:58:02.5|2026-11-25 17:58:03.5", []float64{start + 2.5, start + 3.5}},
		{"2026-11-25T17:58:02.5Z|2026-11-25T17:58:03.5Z", []float64{start + 2.5, start + 3.5}},
		{"2026-11-25T17:58:02+01:00|2026-11-25T17:58:03+01:00", []float64{start + 2, start + 3}},
		{"25.11.2026 17:58:02|25.11.2026 17:58:03", []float64{start + 2, start + 3}},
		{"23:59:59.5|0:00:00.5", []float64{86399.5, 86400.5}}, // past midnight
	} {
		first, second, _ := strings.Cut(c.cells, "|")
		r, rows := readAll(t, "clock;rpm\n"+first+";800\n"+second+";900\n")
		if len(rows) != 2 || r.Columns()[0].Kind != table.Clock {
			t.Errorf("%s: %d rows, columns %v", c.cells, len(rows), r.Columns())
			continue
		}
		got := []float64{rows[0][0], rows[1][0]}
		if d := cmp.Diff(c.want, got, cmpopts.EquateApprox(0, 1e-9)); d != "" {
			t.Errorf("%s:\n%s", c.cells, d)
		}
	}
}

func TestEmptyCellsAndShortRows(t *testing.T) {
	_, rows := readAll(t, "t,a,b,c\n0,,3,4\n1,n/a,,\n2,5\n3,-,NaN,1e3\n,,,\n")
	want := [][]float64{{0, nan, 3, 4}, {1, nan, nan, nan}, {2, 5, nan, nan}, {3, nan, nan, 1000}}
	if d := cmp.Diff(want, rows, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
}

func TestColumnsOfWordsAreLeftOut(t *testing.T) {
	r, rows := readAll(t, "t,lap,rpm\n0,\"out, one\",800\n1,in,900\n")
	if r.Columns()[1].Kind != table.Words {
		t.Errorf("columns %v", r.Columns())
	}
	if d := cmp.Diff([][]float64{{0, nan, 800}, {1, nan, 900}}, rows, cmpopts.EquateNaNs()); d != "" {
		t.Error(d)
	}
}

func TestATableWithoutAHead(t *testing.T) {
	r, rows := readAll(t, "0;800;1\n1;900;2\n2;950;3\n")
	if len(rows) != 3 || r.Head || r.Columns()[1].Name != "column 2" {
		t.Errorf("%d rows, head %v, columns %v", len(rows), r.Head, r.Columns())
	}
}

func TestOldCodingOfADegreeSign(t *testing.T) {
	r, _ := readAll(t, "Zeit [s];Luft [\xb0C]\n0,5;20,5\n1,0;21,5\n")
	if got := r.Columns()[1].Unit; got != "°C" || r.Encoding != table.Latin1 {
		t.Errorf("unit %q, encoding %q", got, r.Encoding)
	}
}

func TestFaultsHaveTheirPlaces(t *testing.T) {
	r, rows := readAll(t, "# note\nt,größe,rpm\n0,1,800\n1,x1,900\n2,3,9oo\n3,4,950,7\n")
	if len(rows) != 4 {
		t.Errorf("%d rows, want 4", len(rows))
	}
	var got []string
	for _, f := range r.Faults() {
		got = append(got, f.Error())
	}
	want := []string{
		`log.csv:4:3: warning: "x1" in column "größe" counts as empty, expected a number`,
		`log.csv:5:5: warning: "9oo" in column "rpm" counts as empty, expected a number`,
		`log.csv:6:9: warning: more cells than the table has columns; they were left out, expected 3 cells`,
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestManyFaultsAreCounted(t *testing.T) {
	r, _ := readAll(t, "t,rpm\n0,800\n1,800\n"+strings.Repeat("2,900\n3,bad\n", 50)+strings.Repeat("9,900\n", 9))
	faults := r.Faults()
	if len(faults) != 4 || !strings.Contains(faults[3].Error(), "47 more cells") || r.Bad(1) != 50 {
		t.Errorf("%v", faults)
	}
}

func TestWhatIsNoTable(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "it is empty",
		" \n\n":                          "it is empty",
		"just a letter\nto somebody\n":   "no table of numbers",
		"a;b;c\n":                        "no table of numbers",
		"\x7fELF\x00\x00\x01\x02\x03":    "a byte of nought",
		"1\n2\n3\n":                      "no table of numbers",
		strings.Repeat("1,", 1500) + "1": "it has 1501 columns",
	} {
		_, err := table.Open("log.csv", strings.NewReader(text))
		if f, ok := errors.AsType[strictyaml.Faults](err); !ok || !strings.Contains(f.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		}
	}
}

func TestABrokenDiskIsNoEnd(t *testing.T) {
	broken := errors.New("disk")
	long := "t,rpm\n" + strings.Repeat("1,800\n", 1<<19)
	r, err := table.Open("log.csv", iotest.TimeoutReader(strings.NewReader(long)))
	if err == nil {
		for r.Next() != nil {
		}
		err = r.Err()
	}
	if !errors.Is(err, iotest.ErrTimeout) {
		t.Errorf("%v, want %v", err, iotest.ErrTimeout)
	}
	if _, err = table.Open("log.csv", iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("%v, want %v", err, broken)
	}
}

// A log longer than the buffer loses no row at its seams.
func TestLongLogsAreWhole(t *testing.T) {
	log := bigLog(3 << 20)
	for _, in := range []string{string(log), coded(string(log), false, true)} {
		r, err := table.Open("log.csv", iotest.HalfReader(strings.NewReader(in)))
		if err != nil {
			t.Fatal(err)
		}
		rows, sum := 0, 0.0
		for row := r.Next(); row != nil; row = r.Next() {
			rows++
			sum += row[1]
		}
		if want := strings.Count(string(log), "\n") - 1; rows != want || sum != 89*float64(want) {
			t.Errorf("%d rows, sum %v; want %d", rows, sum, want)
		}
	}
}

func TestALineWithoutEnd(t *testing.T) {
	r, rows := readAll(t, "t,rpm\n1,800\n2,900\n"+strings.Repeat("9", 2<<20))
	if f := r.Faults(); len(rows) != 2 || len(f) != 1 || f[0].Line != 4 {
		t.Errorf("%d rows, faults %v", len(rows), f)
	}
}

func FuzzReader(f *testing.F) {
	for _, seed := range []string{
		"Time [s],Engine speed [rpm]\n0.0,800\n", "Zeit;n\n0,5;1,5\n", "\xff\xfea\x00;\x00b\x00\n\x001\x00;\x002\x00", "sep=;\na;b\n1;2\n",
		"a|b\n\"1\"\"|2\n1|2", "17:58:02.288\t5\n0:0:0\t6\n", "a,b\n1e9999,-\n--,1e-5\n", "#\n//\n1,2,3\n4", "t,\xb0\n1,2\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := table.Open("log.csv", strings.NewReader(string(text)))
		if err != nil {
			return
		}
		lines, last := strings.Count(string(text), "\n")+1, 0
		for row := r.Next(); row != nil; row = r.Next() {
			if len(row) != len(r.Columns()) {
				t.Fatalf("%d cells in %d columns", len(row), len(r.Columns()))
			}
			for _, v := range row {
				if math.IsInf(v, 0) {
					t.Fatal("a number without end")
				}
			}
			if r.Line() <= last {
				t.Fatalf("line %d after line %d", r.Line(), last)
			}
			last = r.Line()
		}
		if r.Encoding != table.UTF16LE && r.Encoding != table.UTF16BE && last > lines {
			t.Fatalf("line %d of %d", last, lines)
		}
		for _, fault := range r.Faults() {
			if fault.Error() == "" || strings.ContainsAny(fault.Error(), "\n\x1b") {
				t.Fatalf("%q", fault.Error())
			}
		}
	})
}
