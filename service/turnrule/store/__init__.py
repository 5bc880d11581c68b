"""What is kept: releases of limits, policies, keys, verdicts; a port, and an adapter for each place to keep them."""
