import { enableCompileCache } from 'node:module'
import { join } from 'node:path'

// Node takes the types out of a source, and compiles it, once: what came of that is kept from here on.
enableCompileCache(join(import.meta.dirname, '../.cache/compiled'))
const [name] = process.argv.splice(2, 1)
await import(`./${name}.ts`)
