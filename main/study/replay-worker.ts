import { serveThread } from '../store/serve-thread.ts'
import { endReplay, replayTasks } from './replay-tasks.ts'

// The thread in which one stored session is replayed.
serveThread(replayTasks, endReplay)
