package press

import (
	"slices"
	"time"
)

// Condition is something that holds for a while, named by the kind of event
// that began it.
type Condition struct {
	Kind     Kind      `json:"kind"`
	Quantity string    `json:"quantity,omitempty"` // for a sensor's condition
	Since    time.Time `json:"since"`
}

// conditions is what holds at the moment, as the kinds of events that began it.
// Each condition has one event that sets it and others that clear it, so that
// the set can be told from the events alone: a restarted daemon compares what
// its record says with what its engine thinks.
type conditions struct{ set []Condition }

// endedBy lists, for an event kind, the conditions that it ends.
func endedBy(k Kind) []Kind {
	switch k {
	case LeakEnded:
		return []Kind{LeakFound}
	case MarginBack:
		return []Kind{MarginGone}
	case AboveFloor:
		return []Kind{BelowFloor, VacuumLost}
	case WarmEnough:
		return []Kind{TooCold}
	case HoldStarted:
		return []Kind{AssemblyShort, AssemblyOver}
	case AssemblyOver:
		return []Kind{AssemblyShort}
	case PressTimeReached:
		return []Kind{MarginGone}
	case PumpFreed:
		return []Kind{PumpLocked}
	case Released:
		return ConditionKinds()
	case LineBack:
		return []Kind{LineBlocked}
	case SensorBack:
		return []Kind{SensorSilent, SensorStuck, SensorJumped, SensorDisagrees}
	}
	return nil
}

// ConditionKinds are the events that begin a condition.
func ConditionKinds() []Kind {
	return []Kind{
		AssemblyShort, AssemblyOver, LeakFound, MarginGone, BelowFloor, VacuumLost, TooCold, PressTimeReached,
		SensorSilent, SensorStuck, SensorJumped, SensorDisagrees, LineBlocked, PumpLocked,
	}
}

func (c *conditions) note(e Event) {
	for _, k := range endedBy(e.Kind) {
		c.drop(k, e.Quantity)
	}
	if slices.Contains(ConditionKinds(), e.Kind) && !c.has(e.Kind, e.Quantity) {
		c.set = append(c.set, Condition{Kind: e.Kind, Quantity: e.Quantity, Since: e.Time})
	}
}

func (c *conditions) has(k Kind, quantity string) bool {
	return slices.ContainsFunc(c.set, func(held Condition) bool {
		return held.Kind == k && held.Quantity == quantity
	})
}

// drop ends a condition; without a quantity it ends it for all of them.
func (c *conditions) drop(k Kind, quantity string) {
	c.set = slices.DeleteFunc(c.set, func(held Condition) bool {
		return held.Kind == k && (quantity == "" || held.Quantity == quantity)
	})
}

// since is when a condition that holds began.
func (c *conditions) since(k Kind, quantity string) time.Time {
	for _, held := range c.set {
		if held.Kind == k && held.Quantity == quantity {
			return held.Since
		}
	}
	return time.Time{}
}
