import { z } from 'zod'

// The page's policy forbids code made from text; zod would try it once and be reported.
z.config({ jitless: true })
