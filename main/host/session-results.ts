import { openSessionFile } from '../store/session-file.ts'
import { readBudgetTemplates } from '../study/report/budget-folder.ts'
import { writeResults } from '../study/report/write-results.ts'
import { copySignatures, issuedFile } from './issue-certificates.ts'
import type { Services } from './services.ts'

/** Writes a session's results folder with the laboratory's choices. Returns the files written. */
export async function writeSessionResults(
  services: Services,
  session: string,
  folder: string,
  onProgress?: (file: string, done: number) => void,
): Promise<string[]> {
  const file = openSessionFile(services.store.sessionPath(session), { mode: 'read' })
  const { paper, decimalSign, coverageProbability, interpolationStepK } = services.settings()
  try {
    const { files, certificates } = await writeResults({
      session: file,
      folder,
      paper,
      decimalSign,
      analysis: {
        coverageProbability,
        interpolationStepK,
        templates: readBudgetTemplates(services.store.folder),
      },
      issued: (name) => issuedFile(services.store.folder, session, name),
      ...(onProgress && { onProgress }),
    })
    const signatures = await copySignatures(services.store.folder, session, folder)
    return [...Object.values(files), ...signatures, ...certificates]
  } finally {
    file.close()
  }
}
