# cmake -DASSETS=FOLDER -DOUTPUT=FILE.cpp -P embed_assets.cmake: writes the files below ASSETS as
# constants. The script is texts.json and script/*.js joined in the order of their names, without
# indents and lines that are a comment: a seventh of what a phone would load.
cmake_minimum_required(VERSION 3.25)

set(rows "")
# add_asset(NAME CONTENT_TYPE WORKER_SCOPE BYTES)
function(add_asset name content_type worker_scope bytes)
  if("${bytes}" MATCHES "\\)asset\"")
    message(FATAL_ERROR "${name} holds the characters that end a constant")
  endif()
  string(SHA256 digest "${bytes}")
  string(SUBSTRING ${digest} 0 16 version)
  string(APPEND rows "    {{\"${name}\", \"${content_type}\", R\"asset(${bytes})asset\", \"${digest}\",
      \"${worker_scope}\"}, \"/assets/${name}?v=${version}\"},\n")
  set(rows "${rows}" PARENT_SCOPE)
endfunction()

file(READ ${ASSETS}/texts.json texts)
string(STRIP "${texts}" texts)
set(script "'use strict';\nconst T = ${texts};\n")
file(GLOB parts ${ASSETS}/script/*.js)
list(SORT parts)
foreach(part IN LISTS parts)
  file(READ ${part} source)
  string(APPEND script "${source}")
endforeach()
string(REGEX REPLACE "\n *//[^\n]*" "" script "${script}")
string(REGEX REPLACE "\n +" "\n" script "${script}")
add_asset(page.js "text/javascript; charset=utf-8" "" "${script}")

file(READ ${ASSETS}/page.css bytes)
add_asset(page.css "text/css; charset=utf-8" "" "${bytes}")
file(READ ${ASSETS}/icon.svg bytes)
add_asset(icon.svg "image/svg+xml" "" "${bytes}")
file(READ ${ASSETS}/page.webmanifest bytes)
add_asset(page.webmanifest "application/manifest+json" "" "${bytes}")
file(READ ${ASSETS}/worker.js bytes)
add_asset(worker.js "text/javascript; charset=utf-8" "/" "${bytes}")

set(templates "")
file(GLOB parts ${ASSETS}/html/*.html)
list(SORT parts)
foreach(part IN LISTS parts)
  file(READ ${part} bytes)
  get_filename_component(name ${part} NAME_WE)
  string(APPEND templates "    {\"${name}\", R\"asset(${bytes})asset\"},\n")
endforeach()

file(WRITE ${OUTPUT} "#include \"logger/web/page/embedded.hpp\"

namespace logger::web {
namespace {
constexpr EmbeddedAsset kAssets[] = {
${rows}};
constexpr EmbeddedTemplate kTemplates[] = {
${templates}};
}  // namespace

std::span<const EmbeddedAsset> embedded_assets() { return kAssets; }
std::span<const EmbeddedTemplate> embedded_templates() { return kTemplates; }
std::string_view embedded_texts() { return R\"asset(${texts})asset\"; }

}  // namespace logger::web
")
