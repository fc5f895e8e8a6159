import type { Configuration } from 'electron-builder'

/**
 * The packaged app: the bundles, the demo fleet and SQLite's binary. `electron-builder --config .config/electron-builder.config.ts`
 * runs where Electron and the packers can be downloaded, that is on the machine that makes a release.
 */
const config: Configuration = {
  appId: 'app.tareline.desktop',
  productName: 'Tareline',
  executableName: 'tareline',
  directories: { output: 'release', buildResources: '.config' },
  files: [
    'dist/**', 'demo-data/fleet/**', 'package.json', '!**/*.map',
    '!node_modules/node-*/**', '!node_modules/node-addon-api/**', '!node_modules/better-sqlite3/{deps,src,binding.gyp}',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: the packer fills these in
    '!node_modules/better-sqlite3/prebuilds/!(${platform}-${arch}).node',
  ],
  // A native module is loaded from a file on disk, and so is the code of a process or thread of its own.
  asarUnpack: ['node_modules/better-sqlite3/prebuilds/**'],
  npmRebuild: false,
  publish: null,
  linux: { target: ['AppImage', 'deb'], category: 'Office', maintainer: 'The Tareline maintainers' },
  win: { target: 'nsis' },
  mac: { target: 'dmg', category: 'public.app-category.business' },
  electronFuses: {
    runAsNode: false,
    enableNodeOptionsEnvironmentVariable: false,
    enableNodeCliInspectArguments: false,
    enableCookieEncryption: true,
    enableEmbeddedAsarIntegrityValidation: true,
    onlyLoadAppFromAsar: true,
    grantFileProtocolExtraPrivileges: false,
  },
}

export default config
