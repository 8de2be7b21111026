"""Light transport: geometry, random points, traced paths, the lit screen seen from the room, and the sums they make."""
