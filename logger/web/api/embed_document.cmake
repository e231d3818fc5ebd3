# cmake -DDOCUMENT=FILE.json -DOUTPUT=FILE.cpp -P embed_document.cmake: the document as a constant.
cmake_minimum_required(VERSION 3.25)
file(READ ${DOCUMENT} bytes)
file(WRITE ${OUTPUT} "#include \"logger/web/api/openapi.hpp\"

namespace logger::web {

std::string_view openapi_json() { return R\"document(${bytes})document\"; }

}  // namespace logger::web
")
