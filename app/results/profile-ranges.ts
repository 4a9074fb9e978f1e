import { z } from 'zod'
import type { Channel } from '../records/bench.ts'
import type { SessionSetup } from '../records/session.ts'

const Ranges = z
  .array(
    z.object({
      name: z.string(),
      upTo: z.number().positive().optional(),
      accuracy: z.object({ readingPpm: z.number(), rangePpm: z.number() }).optional(),
    }),
  )
  .default([])
/** What of a profile's text is about measuring ranges; a second instrument of the same case has its own. */
const ProfileText = z.object({
  title: z.string().default(''),
  ranges: Ranges,
  parts: z.record(z.string(), z.object({ ranges: Ranges })).default({}),
})

/** A measuring range as the instrument's maker states it, in the instrument's unit; parts per million as half-widths. */
export type StatedRange = z.output<typeof Ranges>[number]

/** The measuring ranges of a channel's instrument, and the one the bench has set for the channel. */
export interface ChannelRanges {
  readonly ranges: readonly StatedRange[]
  /** The one that was set; undefined where none was, or where the instrument chooses by itself. */
  readonly set: StatedRange | undefined
  readonly title: string
}

/** What the profile that the session was measured with says of a channel's ranges; none where its text says nothing. */
export function rangesOf(channel: Pick<Channel, 'instrument' | 'range'>, setup: SessionSetup): ChannelRanges {
  const id = setup.bench.instruments.find((each) => each.id === channel.instrument)?.profile ?? ''
  const text = setup.profiles[id]
  let told: unknown
  try {
    told = JSON.parse(text ?? '')
  } catch {
    // A session of before profiles were kept, or a profile that was not there.
  }
  const read = ProfileText.safeParse(told)
  if (!read.success) return { ranges: [], set: undefined, title: id }
  const { title, parts } = read.data
  const ranges = (parts[id.split('/')[1] ?? ''] ?? read.data).ranges
  const set = ranges.find(({ name, upTo }) => name === channel.range && upTo !== undefined)
  return { ranges, set, title: title || id }
}
