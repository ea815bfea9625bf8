"""What scripts call: taps in (`entries`), changes out (`stream`), the server's clock (`clock`), new cases (`cases`)."""
