import { allan } from './allan.ts'
import { gum } from './gum.ts'
import { iec60751 } from './iec60751.ts'
import { its90Examples } from './its90-examples.ts'
import { its90FixedPoints } from './its90-fixed-points.ts'
import { its90Reference } from './its90-reference.ts'
import { its90Subranges } from './its90-subranges.ts'
import { jcgm101 } from './jcgm101.ts'
import { practice } from './practice.ts'
import type { Publication } from './publication.ts'
import { strd } from './strd.ts'
import { thermistors } from './thermistors.ts'
import { thermocouples } from './thermocouples.ts'

/** Everything the arithmetic of the program is held against. */
export const PUBLISHED: readonly Publication[] = [
  its90FixedPoints,
  its90Reference,
  its90Subranges,
  its90Examples,
  iec60751,
  thermocouples,
  thermistors,
  gum,
  jcgm101,
  strd,
  allan,
  practice,
]
