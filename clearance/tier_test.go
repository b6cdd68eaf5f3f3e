package clearance_test

import _ "sternfan/internal/tier" // the same random inputs every day
