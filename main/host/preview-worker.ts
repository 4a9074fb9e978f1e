import { serveThread } from '../store/serve-thread.ts'
import { PREVIEW_TASKS } from './preview-tasks.ts'

// The thread in which plans are looked over before they are started.
serveThread(PREVIEW_TASKS, () => undefined)
