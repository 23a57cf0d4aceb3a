package pulls_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"dropwalk/advice/pulls"
)

// Whatever a file holds, what comes out can be printed and fits its schema.
func FuzzPulls(f *testing.F) {
	m := usual()
	m.rate, m.pulls = 2, 1
	f.Add(m.text())
	f.Add(inventedLog()[:4000])
	f.Add([]byte("t;flow [L/s];dp [Pa]\n0;1;2\n1;2;8\n2;3;18\n3;4;32\n4;5;50\n"))
	f.Add([]byte("time,rpm,pedal,dp [kPa]\n0,800,0,0\n1,900,100,-1e300\n2,4000,100,1e308\n3,5000,100,4\n4,6000,100,5\n5,7000,100,1\n6,100,0,0\n"))
	f.Add([]byte("17:00:00;0;0\n0:00:01;9000;1\n17:00:02;0;2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, _, err := pulls.Read("log.csv", bytes.NewReader(text), pulls.Options{})
		if err != nil {
			return
		}
		src, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(src, []byte(":null,\"pairs")) || len(r.Notes) > 1000 {
			t.Fatalf("%.500s", src)
		}
	})
}
