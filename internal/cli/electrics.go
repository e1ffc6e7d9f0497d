package cli

import (
	"github.com/spf13/cobra"

	"bellmouth/internal/sheet"
)

func newWiringCmd(s streams) *cobra.Command {
	var o options
	cmd := &cobra.Command{
		Use:   "wiring SPEC",
		Short: "Current of every power channel, wires, fuses and trips, alternator and battery",
		Long: `wiring prints what each power channel carries: mean, heating, peak and inrush current against
its limit, what the wire loses and what voltage arrives, and the smallest wire that would do.
It tells the fuse, or the trip, delay and retry that suit each channel, and why there are
none where there are not. Then what the engine does when a channel switches off, worst first.
A load whose part the trim lacks draws nothing, and is told.

For each mode of the spec it holds the alternator against the sum of the loads, and tells how
long the battery lasts, or what it takes and how long that is to win back. Injectors, coils,
pumps and the boost valve draw what the solved engine asks of them, at the voltage that arrives:
dead time, dwell and pump flow go round with it until they agree. The last table tells that over
engine speed.

A voltage of injectors, coils or pumps that the spec states counts before what arrives; one
that it leaves to a default is that of the mode wiring.full_load, in all commands.

Currents in A, wires in mm2, times in ms and min.`,
		Example: "  bellmouth wiring examples/hillclimb.yaml --trim open\n" +
			"  bellmouth wiring examples/club-four.yaml --trim free --table electrical-balance",
		Args: specArg,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.spec = args[0]
			return o.overSpeedWith(cmd.Context(), s, "wiring", []string{cautionWiring, cautionDefer}, wiringPart)
		},
	}
	o.flags(cmd, true)
	return cmd
}

const cautionWiring = "Currents that wires carry hold for single wires in free air. A wire that is too thin, or a fuse that is too large, starts a fire; " +
	"an engine that leans out on a lost channel is destroyed."

func wiringPart(r *sheet.Run) (p trimPart, err error) {
	p.tables, err = r.Wiring()
	return p, err
}
