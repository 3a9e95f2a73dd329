package press

import "time"

// What a press may have open that has nothing to do with the bag on it.
const (
	TodoOutcome  = "outcome"   // a question: what came out of the bag?
	TodoBuildLog = "build_log" // a run could not be written into the build log
)

// Todo is something that waits for the builder and is no alert.
type Todo struct {
	Kind  string    `json:"kind"` // outcome or build_log
	Run   string    `json:"run"`
	After string    `json:"after,omitempty"` // of an outcome: release, day or week
	Since time.Time `json:"since,omitzero"`
	Text  string    `json:"text"` // what to do, for people
}
