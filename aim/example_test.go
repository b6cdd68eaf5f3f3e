package aim_test

import (
	"context"
	"fmt"
	"os"

	"sternfan/aim"
	"sternfan/scenario"
	"sternfan/tackle"
)

// Fish are marked at 62 ft: what is there to do on the one rod of the class scenario?
func ExampleBoat_Reach() {
	data, err := os.ReadFile("../examples/class.yaml")
	if err != nil {
		panic(err)
	}
	sc, _, err := scenario.DecodeWith("class.yaml", data, scenario.Options{Known: tackle.Known, List: tackle.Names})
	if err != nil {
		panic(err)
	}
	boat, err := aim.New(sc, aim.Options{Top: 2})
	if err != nil {
		panic(err)
	}
	found, err := boat.Reach(context.Background(), aim.Request{Rod: "class", Depth: 62 * .3048, Keep: []string{"ring"}})
	if err != nil {
		panic(err)
	}
	for _, way := range found.Ways {
		fmt.Println(way.Text, way.Set)
	}
	// Output:
	// dial 2 port, let out 122 ft [rods.class.settings.line_out=122ft]
	// dial 0, let out 101 ft [rods.class.settings.dial=0 rods.class.settings.line_out=101ft]
}
