package cure

// Cautions returns what goes for every glue, in one sentence each. A sheet's own
// come on top, in Sheet.Cautions.
func Cautions() []string {
	return []string{
		"Follow the maker's datasheet and your local rules: nightclamp is an aid and no safety device.",
		"Keep a coupon with squeeze-out in the bag and judge the glue by it before you open: it is the arbiter, not this number.",
		"Never leave a space heater on unattended or overnight, and never switch one by a timer; foam moulds soften at about 75 °C and burn.",
		"Use only vessels rated for full vacuum: drums, glass and food jars can implode.",
		"Lead the pump's exhaust outdoors: it carries what the glue gives off.",
	}
}
