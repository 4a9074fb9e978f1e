import type { MessageBoxOptions } from 'electron'
import type { ElectronParts } from './parts.ts'
import { SECRETS, type SecretName, type Secrets } from './secrets.ts'

/** A question in the system's own dialog, over the window where there is one. */
export type AskSystem = (asked: MessageBoxOptions) => Promise<{ response: number }>

/** From the clipboard, because the window never holds a password and the system's dialogs have no field for one. */
export async function keepPassword(
  electron: ElectronParts,
  secrets: Secrets,
  ask: AskSystem,
  name: SecretName,
): Promise<void> {
  const of = SECRETS[name]
  const copied = await electron.clipboard.readText()
  if (copied === '') {
    await ask({ type: 'info', message: `Nothing is copied. Copy the password of ${of} first.` })
    return
  }
  const { response } = await ask({
    type: 'question',
    message: `Keep the copied text (${copied.length} characters) as the password of ${of}?`,
    detail: 'This system keeps it encrypted, and the clipboard is emptied. It holds from the next start on.',
    buttons: ['Keep it', 'Leave it'],
    defaultId: 1,
    cancelId: 1,
    noLink: true,
  })
  if (response !== 0) return
  try {
    secrets.set(name, copied)
    await electron.clipboard.clear()
  } catch (fault) {
    await ask({ type: 'error', message: (fault as Error).message })
  }
}
