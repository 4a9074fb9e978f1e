interface Lock {
  packages: Record<string, { gypfile?: boolean }>
}
export function unmarked(lock: Lock): string[]
export function marked<L extends Lock>(lock: L): L
