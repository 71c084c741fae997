"""The edge: pages, JSON API, persistence, jobs. The only floor that knows the time, the database and the network."""
