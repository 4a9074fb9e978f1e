/** Something that a comparison's own readings say against its results. Sign-off is held until a person decides. */
export interface Finding {
  readonly kind:
    | 'references-disagree'
    | 'reference-moved'
    | 'reference-changed'
    | 'common-mode'
    | 'places-changed'
    | 'places-wide'
    | 'insulation'
    | 'zero-voltage'
    | 'scatter'
  /** Points concerned; null: all. */
  readonly points: readonly string[] | null
  /** Channels of the thermometers concerned; null: all. */
  readonly channels: readonly string[] | null
  readonly words: string
}

/** A guided check that was not made: what stands in the budget in its place is common practice, or nothing. */
export interface Unmade {
  readonly check: 'wtp' | 'exchange' | 'lift' | 'first-again' | 'insulation' | 'pairs'
  readonly words: string
}
