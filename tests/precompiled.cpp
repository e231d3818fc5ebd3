// For it the header that the tests share is compiled beforehand; it holds nothing of its own.
