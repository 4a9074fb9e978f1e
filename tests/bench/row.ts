/** One line of the bench: ours beside the naive way or the bare limit, taken in the same run. */
export interface Row {
  readonly name: string
  readonly ours: number
  readonly other: number
  readonly unit: string
  readonly ratio: number
  /** The goal in words; empty where the row only informs. */
  readonly goal: string
  /** Whether the goal is met; null where there is none. */
  readonly met: boolean | null
  readonly note?: string
}
