/** The largest parts of a budget: 'Bath, uniformity 61 %; Reference thermometer, calibration 20 %'. */
export const partWords = (parts: readonly { name: string; part: number }[]): string =>
  parts.map(({ name, part }) => `${name} ${Math.round(100 * part)} %`).join('; ')
