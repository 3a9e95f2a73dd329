package record

import "context"

// Check reads through the whole record, beside a daemon that may be writing it,
// and reports damage as [ErrCorrupt].
func (s *Store) Check(ctx context.Context) error {
	if err := check(ctx, s.read); err != nil {
		return explain(s.path, "read through the record", err)
	}
	return nil
}
