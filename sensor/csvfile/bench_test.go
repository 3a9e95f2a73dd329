package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"
)

func benchmark(b *testing.B, row func(i int) string) {
	const rows = 100_000
	var text bytes.Buffer
	text.WriteString("time,bag_pa,ambient_pa,glueline_c\n")
	for i := range rows {
		text.WriteString(row(i))
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		r, err := NewReader(bytes.NewReader(text.Bytes()), "bench")
		for err == nil {
			_, err = r.Next()
		}
		if !errors.Is(err, io.EOF) {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*rows/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkSeconds(b *testing.B) {
	benchmark(b, func(i int) string {
		return fmt.Sprintf("%.1f,%.1f,101325,13.0625\n", float64(i)/10, 16000+float64(i%37)/10)
	})
}

func BenchmarkRFC3339(b *testing.B) {
	begin := time.Date(2026, 10, 16, 17, 40, 0, 0, time.UTC)
	benchmark(b, func(i int) string {
		at := begin.Add(time.Duration(i) * 100 * time.Millisecond)
		return fmt.Sprintf("%s,%.1f,101325,13.0625\n", at.Format(time.RFC3339Nano), 16000+float64(i%37)/10)
	})
}
