import { openSessionFile } from '../store/session-file.ts'
import { readBudgetTemplates } from '../study/report/budget-folder.ts'
import { type Results, writeResults } from '../study/report/write-results.ts'
import type { Services } from './services.ts'

/** Writes a session's results folder with the laboratory's choices. Returns what stands where. */
export async function writeSessionResults(
  services: Services,
  session: string,
  folder: string,
  onProgress?: (file: string, done: number) => void,
): Promise<Results['files']> {
  const file = openSessionFile(services.store.sessionPath(session), { mode: 'read' })
  const { paper, decimalSign, coverageProbability, interpolationStepK } = services.settings()
  try {
    const { files } = await writeResults({
      session: file,
      folder,
      paper,
      decimalSign,
      analysis: {
        coverageProbability,
        interpolationStepK,
        templates: readBudgetTemplates(services.store.folder),
      },
      ...(onProgress && { onProgress }),
    })
    return files
  } finally {
    file.close()
  }
}
