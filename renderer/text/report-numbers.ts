/** Numbers of a report by name, as it quotes them. */
export interface ReportNumbers {
  [name: string]: { uncertainty: string | null; k: string | null; exact: number } | undefined
}

/** Numbers of a report's content, as far as it has any. */
export const reportNumbers = (content: Record<string, unknown> | undefined): ReportNumbers =>
  (content?.numbers ?? {}) as ReportNumbers
